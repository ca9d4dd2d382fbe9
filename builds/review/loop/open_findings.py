"""What there is to decide on in a revision: checks whose readings say something, and snags."""
from collections import defaultdict
from dataclasses import dataclass

from builds.bench.models import Snag, Standing
from builds.guides.circuit.stored import attach
from builds.guides.figures import band_for
from builds.review.models import Decision
from builds.review.pooled import found_of, proposal_of
from builds.review.queries import checks_of
from checks.quantity import format_quantity

QUIET = ("fits", "not enough")


@dataclass(frozen=True)
class OpenFinding:
    """A check with its finding, what to propose, and the decision taken, if any."""

    check: object
    found: object
    proposal: object | None
    snags: tuple
    decision: Decision | None
    n: int

    @property
    def figures(self) -> dict[str, str]:
        """The proposal as the guide writes figures; empty where there is none."""
        if self.proposal is None:
            return {}
        unit = self.check.unit
        return {name: format_quantity(value, unit) for name, value in
                (("expected", self.proposal.figure), ("low", self.proposal.low), ("high", self.proposal.high))}

    @property
    def evidence(self) -> str:
        found = self.found
        return f"{found.words} ({found.kind}, {found.probability:.0%}; median {found.shift:+.2f} half-bands, n = {self.n})"


def open_findings(revision) -> list[OpenFinding]:
    """Checks with something to say, likeliest first. Five queries, however many checks."""
    standings, snags = defaultdict(list), defaultdict(list)
    for row in Standing.objects.filter(build__revision=revision).select_related("latest"):
        standings[row.check_row_id].append(row)
    for snag in Snag.objects.filter(build__revision=revision).exclude(check_row=None).select_related("build"):
        snags[snag.check_row_id].append(snag)
    decided = {d.check_row_id: d for d in revision.decisions.exclude(check_row=None)}
    checks = checks_of(revision)
    for check in checks:
        check.stage.revision = revision
    attach(revision, checks)
    rows = [_row(check, standings[check.pk], tuple(snags[check.pk]), decided.get(check.pk)) for check in checks]
    rows = [r for r in rows if r.found.kind not in QUIET or r.decision]
    return sorted(rows, key=lambda r: (r.decision is not None, -r.found.probability))


def _row(check, standings, snags, decision) -> OpenFinding:
    band = band_for(check)
    found = found_of(standings, band, len(snags))
    proposal = proposal_of(check, standings, band) if found.kind in ("figure off", "band too tight") else None
    return OpenFinding(check, found, proposal, snags, decision, len(standings))
