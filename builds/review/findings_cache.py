"""Findings, worked out again only where something changed: one more reading costs one check and not all of them.

What of a finding rests on its own check alone (likelihoods, scatter, summary, who missed it) is kept under a token: how
many builds read the check, their latest reading, how often they tried, the snags about it, its band, the circuit's
figure, the labels recorded of the builds, and the edition of the statistics. Readings are only ever added, so that
whatever happens to one changes the token. What is kept under another token is not looked at. What the checks of a guide
say of each other is worked out whenever it is asked for; that is quick. What a build reads too high or too low on all
checks changes what each of them means: it is learnt anew with every change, rounded so that it seldom moves.
"""

import hashlib
from collections import defaultdict
from dataclasses import asdict, astuple, dataclass, replace

from django.db.models import Count

from builds.bench.models import Reading, Snag
from builds.guides.circuit.stored import find_figure
from builds.guides.figures import band_for
from builds.review.models import CachedFinding
from builds.review.proposals import ProposalBasis, find_basis, gather_evidence, list_rows, propose_bands
from builds.review.read_counts import NONE, ReadCounts, read_counts
from builds.review.readable import ReadableFinding, ReadableProposal, ReadableWithheld, readable
from builds.review.recorded_labels import labels_token, list_labels
from checks.outcomes import Outcome
from checks.statistics.agreement import Agreement, compare_sources
from checks.statistics.build_effects import MOST_BUILDS, without_build_effects
from checks.statistics.evidence import WeighedEvidence, weigh_evidence
from checks.statistics.findings import EDITION, CheckFinding, Kind, compute_findings
from checks.statistics.summary import Summary, summarise


@dataclass(frozen=True)
class BuildMiss:
    """A build that missed a check, first or last; `deviation` of its first reading."""

    build: int
    first_outcome: str
    outcome: str
    deviation: float


@dataclass(frozen=True)
class Meaning:
    """All that one check's readings mean, from the last attempt of each build. `agreement`: do guide, circuit and
    builds agree?"""

    finding: ReadableFinding
    proposal: ReadableProposal | ReadableWithheld | None
    summary: Summary
    agreement: Agreement | None
    misses: tuple[BuildMiss, ...] = ()


@dataclass(frozen=True)
class OwnPart:
    """What rests on one check alone."""

    evidence: WeighedEvidence
    basis: ProposalBasis | None
    summary: Summary
    misses: tuple[BuildMiss, ...] = ()


def meanings(checks, counts: dict[int, ReadCounts] | None = None) -> dict[int, Meaning]:
    """Check id -> what its readings mean. `checks`: all of one revision, each with its stage's revision at hand and
    figures attached (circuit.stored.attach): a guide's checks are weighed together. `counts`, if at hand. Six queries;
    more where something is stale."""
    if not checks:
        return {}
    revision = checks[0].stage.revision
    counts = read_counts(checks) if counts is None else counts
    tokens = _tokens(revision, checks, counts)
    cached = {k.check_row_id: k for k in CachedFinding.objects.filter(check_row__in=tokens)}
    stale = [c for c in checks if c.pk not in cached or cached[c.pk].token != tokens[c.pk][0]]
    few = all(count.builds <= MOST_BUILDS for count in counts.values())
    fresh = _work_out(revision, checks, stale, tokens, cached, few)
    own = {c.pk: fresh[c.pk] if c.pk in fresh else _read(cached[c.pk]) for c in checks}
    return weigh_together(checks, own)


def weigh_together(checks, own: dict[int, OwnPart]) -> dict[int, Meaning]:
    """Check id -> meaning, from what rests on each check alone."""
    findings = compute_findings([own[c.pk].evidence for c in checks])
    proposals = propose_bands({c.pk: own[c.pk].basis for c in checks})
    return {
        c.pk: _meaning(c, finding, readable(proposals[c.pk]), own[c.pk])
        for c, finding in zip(checks, findings, strict=True)
    }


def _meaning(check, finding: CheckFinding, proposal, own: OwnPart) -> Meaning:
    agreement = compare_sources(band_for(check), find_figure(check), own.summary, finding.kind == Kind.BATCH)
    readable_finding = ReadableFinding(**vars(finding), agreement=agreement)
    return Meaning(readable_finding, proposal, own.summary, agreement, own.misses)


def _tokens(revision, checks, counts: dict[int, ReadCounts]) -> dict[int, tuple[str, int]]:
    """Check id -> (token, snags about it)."""
    ids = [c.pk for c in checks]
    snags = dict(Snag.objects.filter(check_row__in=ids).order_by().values_list("check_row_id").annotate(n=Count("pk")))
    labels = labels_token(revision)
    return {
        c.pk: (_token(c, labels, counts.get(c.pk, NONE).of_readings, snags.get(c.pk, 0)), snags.get(c.pk, 0))
        for c in checks
    }


def _token(check, *states) -> str:
    return hashlib.sha256(repr((EDITION, band_for(check), find_figure(check), *states)).encode()).hexdigest()


def _work_out(revision, checks, stale, tokens, cached, few: bool) -> dict[int, OwnPart]:
    """Of what is stale, and of what a build's effect on all its readings has changed for."""
    if not stale:
        return {}
    rows = defaultdict(list)
    behind = {c.pk for c in stale} | {pk for pk, row in cached.items() if _kept_effects(row)}
    for row in list_rows(checks if few else [c for c in checks if c.pk in behind]):
        rows[row.check].append(row)
    effects = effects_on(checks, rows) if few else {}
    changed = {pk for pk, row in cached.items() if _kept_effects(row) != effects.get(pk, ())}
    moved = [c for c in checks if c in stale or c.pk in changed]
    labels, firsts = list_labels(revision, moved), first_deviations(moved)
    own = {
        c.pk: work_out(c, rows[c.pk], tokens[c.pk][1], labels[c.pk], firsts[c.pk], effects.get(c.pk, ())) for c in moved
    }
    CachedFinding.objects.bulk_create(
        [CachedFinding(check_row=c, token=tokens[c.pk][0], **_written(own[c.pk])) for c in moved],
        update_conflicts=True,
        unique_fields=["check_row"],
        update_fields=["token", "finding", "proposal", "summary", "misses"],
    )
    return own


def effects_on(checks, rows) -> dict[int, tuple[tuple[int, float], ...]]:
    """Check id -> what builds read too high or too low on all checks of its quantity; of what was read."""
    read = [c for c in checks if rows[c.pk]]
    evidence = [gather_evidence(sorted(rows[c.pk]), band_for(c), 0, quantity=c.measure) for c in read]
    return {c.pk: e.effects for c, e in zip(read, without_build_effects(evidence), strict=True)}


def _kept_effects(row: CachedFinding) -> tuple[tuple[int, float], ...]:
    return tuple((build, ratio) for build, ratio in row.finding.get("effects", ()))


def first_deviations(checks) -> dict[int, dict[int, float]]:
    """Check id -> build id -> the deviation of its first reading, where that was not in band. One query."""
    firsts: dict[int, dict[int, float]] = defaultdict(dict)
    rows = Reading.objects.filter(check_row__in=[c.pk for c in checks], attempt=1).exclude(outcome=Outcome.IN_BAND)
    for check, build, deviation in rows.order_by().values_list("check_row_id", "build_id", "deviation"):
        firsts[check][build] = deviation
    return firsts


def work_out(
    check, rows, snags: int, labels: dict[str, dict[int, str]], firsts: dict[int, float], effects=()
) -> OwnPart:
    """What is kept, from the rows of one check; the same to the last digit whatever order the database gave them in."""
    band, rows = band_for(check), sorted(rows)
    values = [r.at_reference for r in rows if r.at_reference is not None]
    return OwnPart(
        weigh_evidence(replace(gather_evidence(rows, band, snags, labels, check.measure), effects=effects)),
        find_basis(check, rows, band),
        summarise(values, len(rows) - len(values)),
        tuple(
            BuildMiss(r.build, r.first_outcome, r.outcome, firsts.get(r.build, r.deviation))
            for r in rows
            if {r.first_outcome, r.outcome} != {Outcome.IN_BAND}
        ),
    )


def _written(own: OwnPart) -> dict:
    basis = own.basis and own.basis.as_dict()
    misses = [astuple(miss) for miss in own.misses]
    return {"finding": own.evidence.as_dict(), "proposal": basis, "summary": asdict(own.summary), "misses": misses}


def _read(row: CachedFinding) -> OwnPart:
    basis = row.proposal and ProposalBasis.from_dict(row.proposal)
    misses = tuple(BuildMiss(*miss) for miss in row.misses)
    return OwnPart(WeighedEvidence.from_dict(row.finding), basis, Summary(**row.summary), misses)
