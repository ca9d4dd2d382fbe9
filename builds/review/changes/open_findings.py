"""What there is to decide on in a revision: checks whose readings say something, and snags."""

from collections import defaultdict
from dataclasses import dataclass

from builds.bench.models import Snag
from builds.guides.circuit.stored import attach
from builds.review.changes.cases import cases_of
from builds.review.changes.suggest import suggest
from builds.review.findings_cache import meanings
from builds.review.models import Decision
from builds.review.queries import checks_of
from checks.quantity import format_quantity
from checks.statistics.plain import widths

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
    advice: str = ""  # what to do, in words that fit what was found to be the cause

    @property
    def figures(self) -> dict[str, str]:
        """The proposal as the guide writes figures; empty where there is none."""
        if not self.proposal:
            return {}
        unit = self.check.unit
        told = {
            name: format_quantity(value, unit, self.proposal.digits)
            for name, value in (
                ("expected", self.proposal.figure),
                ("low", self.proposal.low),
                ("high", self.proposal.high),
            )
        }
        return told | dict.fromkeys(("band", "at_least", "at_most"), "")  # a band is given one way

    @property
    def evidence(self) -> str:
        found = self.found
        return (
            f"{found.claim}. {found.words} ({self.n} builds; their middle is off by {widths(found.shift)} band-widths.)"
        )

    @property
    def asks(self) -> bool:
        """Does it ask for a change of the guide?"""
        return bool(self.proposal) or self.found.kind == "step unclear"


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
    loud = [c for c in checks if told[c.pk].found.kind not in QUIET or c.pk in decided]
    cases = cases_of(revision, loud, told, snags, decided)
    rows = [_row(check, told[check.pk], tuple(snags[check.pk]), *cases[check.pk]) for check in loud]
    return sorted(rows, key=lambda r: (r.decision is not None, -r.found.probability))


def _row(check, told, snags, case, planned) -> OpenFinding:
    proposal = told.proposal if case.may_change_figures else None
    return OpenFinding(check, told.found, proposal, snags, case.decision, told.summary.n, suggest(case, planned))
