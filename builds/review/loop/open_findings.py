"""What there is to decide on in a revision: checks whose readings say something, and snags."""
from collections import defaultdict
from dataclasses import dataclass

from builds.bench.models import Snag
from builds.guides.circuit.stored import attach
from builds.review.kept import meanings
from builds.review.models import Decision
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
        if not self.proposal:
            return {}
        unit = self.check.unit
        told = {name: format_quantity(value, unit, self.proposal.digits) for name, value in
                (("expected", self.proposal.figure), ("low", self.proposal.low), ("high", self.proposal.high))}
        return told | dict.fromkeys(("band", "at_least", "at_most"), "")  # a band is given one way

    @property
    def evidence(self) -> str:
        found = self.found
        return f"{found.words} ({found.kind}, {found.probability:.0%}; median {found.shift:+.2f} half-bands, n = {self.n})"


def open_findings(revision) -> list[OpenFinding]:
    """Checks with something to say, likeliest first. A fixed number of queries, however many checks."""
    snags = defaultdict(list)
    for snag in Snag.objects.filter(build__revision=revision).exclude(check_row=None).select_related("build"):
        snags[snag.check_row_id].append(snag)
    decided = {d.check_row_id: d for d in revision.decisions.exclude(check_row=None)}
    checks = checks_of(revision)
    for check in checks:
        check.stage.revision = revision
    attach(revision, checks)
    told = meanings(checks)
    rows = [_row(check, told[check.pk], tuple(snags[check.pk]), decided.get(check.pk)) for check in checks]
    rows = [r for r in rows if r.found.kind not in QUIET or r.decision]
    return sorted(rows, key=lambda r: (r.decision is not None, -r.found.probability))


def _row(check, told, snags, decision) -> OpenFinding:
    proposal = told.proposal if told.found.kind in ("figure off", "band too tight") else None
    return OpenFinding(check, told.found, proposal, snags, decision, told.summary.n)
