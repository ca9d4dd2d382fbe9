"""Findings, worked out anew only where something changed: one more reading costs one check and not all of them.

What a finding rests on is named by a token: how many builds read the check, their latest reading, how often they tried,
the snags about it, its band, the circuit's figure, and the edition of the statistics. Readings are only ever added, so
that whatever happens to one changes the token. A finding kept under another token is not looked at.
"""

import hashlib
from collections import defaultdict
from dataclasses import asdict, dataclass

from django.db.models import Count, Max, Sum

from builds.bench.models import CheckStatus, Snag
from builds.guides.circuit.stored import figure_of
from builds.guides.figures import band_for
from builds.review.models import CachedFinding
from builds.review.proposals import found_of, proposal_of, rows_of
from checks.statistics.findings import EDITION, Found
from checks.statistics.summary import Summary, summarise
from checks.statistics.tolerance import Proposal, Withheld


@dataclass(frozen=True)
class Meaning:
    """All that is said of one check's readings, from the last attempt of each build."""

    found: Found
    proposal: Proposal | Withheld | None
    summary: Summary


def meanings(checks) -> dict[int, Meaning]:
    """Check id -> what its readings mean. `checks`: of one revision, each with its stage's revision at hand and figures
    attached (circuit.stored.attach). Three queries; two more where something is stale."""
    tokens = _tokens(checks)
    kept = {k.check_row_id: k for k in CachedFinding.objects.filter(check_row__in=tokens)}
    stale = [c for c in checks if c.pk not in kept or kept[c.pk].token != tokens[c.pk][0]]
    fresh = _work_out(stale, tokens)
    return {c.pk: fresh[c.pk] if c.pk in fresh else _read(kept[c.pk]) for c in checks}


def _tokens(checks) -> dict[int, tuple[str, int]]:
    """Check id -> (token, snags about it)."""
    ids = [c.pk for c in checks]
    states = {
        pk: rest
        for pk, *rest in CheckStatus.objects.filter(check_row__in=ids)
        .order_by()
        .values_list("check_row_id")
        .annotate(n=Count("pk"), last=Max("latest_id"), tries=Sum("attempts"))
    }
    snags = dict(Snag.objects.filter(check_row__in=ids).order_by().values_list("check_row_id").annotate(n=Count("pk")))
    return {c.pk: (_token(c, states.get(c.pk), snags.get(c.pk, 0)), snags.get(c.pk, 0)) for c in checks}


def _token(check, *states) -> str:
    return hashlib.sha256(repr((EDITION, band_for(check), figure_of(check), *states)).encode()).hexdigest()


def _work_out(stale, tokens) -> dict[int, Meaning]:
    if not stale:
        return {}
    rows = defaultdict(list)
    for row in rows_of(stale):
        rows[row.check].append(row)
    found = {c.pk: work_out(c, rows[c.pk], tokens[c.pk][1]) for c in stale}
    CachedFinding.objects.bulk_create(
        [CachedFinding(check_row=c, token=tokens[c.pk][0], **_written(found[c.pk])) for c in stale],
        update_conflicts=True,
        unique_fields=["check_row"],
        update_fields=["token", "found", "proposal", "summary"],
    )
    return found


def work_out(check, rows, snags: int) -> Meaning:
    """What is kept, from the rows of one check; the same to the last digit whatever order the database gave them in."""
    band, rows = band_for(check), sorted(rows)
    return Meaning(
        found_of(rows, band, snags),
        proposal_of(check, rows, band),
        summarise(
            [r.at_reference for r in rows if r.at_reference is not None], sum(r.at_reference is None for r in rows)
        ),
    )


def _written(meaning: Meaning) -> dict:
    proposal = None if meaning.proposal is None else asdict(meaning.proposal)
    return {"found": asdict(meaning.found), "proposal": proposal, "summary": asdict(meaning.summary)}


def _read(kept: CachedFinding) -> Meaning:
    told = kept.proposal
    proposal = None if told is None else Withheld(**told) if "why" in told else Proposal(**told)
    return Meaning(Found(**kept.found), proposal, Summary(**kept.summary))
