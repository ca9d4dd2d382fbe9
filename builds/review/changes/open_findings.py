"""What there is to decide on in a revision: checks whose readings say something, and snags."""

from collections import defaultdict
from dataclasses import dataclass, fields
from enum import StrEnum

from builds.bench.models import Snag
from builds.guides.circuit.stored import attach
from builds.guides.corrected import standing
from builds.guides.figures import load_factor
from builds.guides.models import Check
from builds.guides.row_labels import correction_note
from builds.review.changes.cases import Decisions, list_cases
from builds.review.changes.suggest import suggest
from builds.review.findings_cache import meanings
from builds.review.models import Decision
from builds.review.problems.state import UNDECIDED, ProblemState, finding_state
from builds.review.queries import list_checks
from builds.review.read_counts import ReadCounts
from builds.review.readable import ReadableFinding, ReadableProposal
from checks.quantity import format_quantity
from checks.statistics.findings import CheckFinding, Kind


class Group(StrEnum):
    """What a designer does with a finding, in the order in which a page lists them."""

    TO_DECIDE = "to-decide"
    SINGLE_BUILDS = "single-builds"  # nothing in the guide to change
    DECIDED = "decided"


@dataclass(frozen=True)
class OpenFinding:
    """A check with its finding, what to propose, and the decision taken, if any."""

    check: Check
    finding: ReadableFinding
    proposal: ReadableProposal | None
    snags: tuple
    decision: Decision | None
    n: int
    state: ProblemState
    advice: str = ""  # what to do, in words that fit what was found to be the cause

    @property
    def figures(self) -> dict[str, str]:
        """The proposal as the guide writes figures, read with its designer's meter if they are; empty where there is
        none."""
        if not self.proposal:
            return {}
        unit = self.check.unit
        figures = {
            name: format_quantity(value / load_factor(self.check), unit, self.proposal.digits)
            for name, value in (
                ("expected", self.proposal.figure),
                ("low", self.proposal.low),
                ("high", self.proposal.high),
            )
        }
        return figures | dict.fromkeys(("band", "at_least", "at_most"), "")  # a band is given one way

    @property
    def corrected(self) -> str:
        """That an erratum corrected the figures which readings are judged by, and what they were."""
        return correction_note(standing(self.check))

    @property
    def basis(self) -> dict:
        """The figures of the finding, for a decision to keep."""
        agreement = self.finding.agreement
        return {
            "finding": {f.name: getattr(self.finding, f.name) for f in fields(CheckFinding)},
            "n": self.n,
            "agreement": agreement.verdict.value if agreement else "",
        }

    @property
    def is_unclear(self) -> bool:
        """Is it the words of a step that builders stumble over?"""
        return self.finding.kind == Kind.UNCLEAR

    @property
    def asks(self) -> bool:
        """Does it ask for a change of the guide?"""
        return bool(self.proposal) or self.is_unclear

    @property
    def group(self) -> Group:
        if self.state not in UNDECIDED:
            return Group.DECIDED
        return Group.SINGLE_BUILDS if self.finding.kind == Kind.SINGLES and not self.asks else Group.TO_DECIDE

    @property
    def keeps_guide(self) -> bool:
        """Is there nothing in the guide to change, as the fault is that of single builds?"""
        return self.group is Group.SINGLE_BUILDS

    @property
    def needs_decision(self) -> bool:
        return self.asks and self.decision is None


def open_findings(revision, counts: dict[int, ReadCounts] | None = None) -> list[OpenFinding]:
    """Checks with something to say, likeliest first. A fixed number of queries, however many checks. `counts`: of the
    revision's checks, if at hand."""
    snags = defaultdict(list)
    for snag in Snag.objects.filter(build__revision=revision).exclude(check_row=None).select_related("build"):
        snags[snag.check_row_id].append(snag)
    decisions = Decisions.of(revision)
    checks = list_checks(revision)
    for check in checks:
        check.stage.revision = revision
    attach(revision, checks)
    meaning_of = meanings(checks, counts)
    loud = [c for c in checks if meaning_of[c.pk].finding.has_claim or c.pk in decisions.by_check]
    cases = list_cases(revision, loud, meaning_of, snags, decisions)
    rows = [
        _row(check, meaning_of[check.pk], tuple(snags[check.pk]), decisions.by_check.get(check.pk), *cases[check.pk])
        for check in loud
    ]
    return sorted(rows, key=lambda r: (r.decision is not None, -r.finding.probability))


def _row(check, meaning, snags, decision, case, planned) -> OpenFinding:
    proposal = meaning.proposal if case.may_change_figures else None
    state = finding_state(decision or case.decision, planned=planned, causes=case.causes or case.confirmed)
    return OpenFinding(
        check, meaning.finding, proposal, snags, decision, meaning.summary.n, state, suggest(case, planned)
    )
