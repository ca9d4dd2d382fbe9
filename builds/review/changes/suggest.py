"""What to do about a finding: advice that fits what was found to be the cause and what was decided."""

from builds.review.changes.case import Case
from builds.review.models import Cause, Decision
from builds.ui.formatting import format_figure
from builds.ui.messages.findings import agreement_sentence
from builds.ui.messages.proposed_bands import why_withheld
from builds.ui.messages.suggestions import Advice, AdviceCode, advice_sentence
from builds.ui.rich_text import to_text
from checks.statistics.agreement import Verdict
from checks.statistics.dependence import Circumstance, CircumstanceKind
from checks.statistics.findings import FEWEST, Kind
from checks.statistics.tolerance import Proposal, Withheld

BY_CAUSE = {
    Cause.WORKMANSHIP: AdviceCode.WORKMANSHIP,
    Cause.PART: AdviceCode.PART,
    Cause.METER: AdviceCode.METER,
    Cause.DESIGN: AdviceCode.DESIGN,
    Cause.WORDING: AdviceCode.WORDING,
}
MEASURING = (CircumstanceKind.METER, CircumstanceKind.MAINS, CircumstanceKind.BUILDER)
SETTLED = (Decision.State.ACCEPTED, Decision.State.REJECTED)


def suggest(case: Case, planned: str = "") -> str:
    """The advice on a case as sentences."""
    return " ".join(map(advice_sentence, advise(case, planned)))


def advise(case: Case, planned: str = "") -> list[Advice]:
    """What was decided comes before everything, and what the designer `planned` before what is worked out."""
    state = case.decision.state if case.decision else ""
    if state in SETTLED:
        return [decision_advice(case.decision)]
    if planned:
        return [Advice(AdviceCode.PLANNED, planned)]
    deferred = [decision_advice(case.decision)] if state else []
    return [*deferred, *_causes_first(case), *_figures(case)]


def decision_advice(decision) -> Advice:
    """What was decided, with the reason."""
    if decision.state == Decision.State.ACCEPTED and decision.draft:
        return Advice(AdviceCode.ACCEPTED_INTO, decision.reason, params={"letter": decision.draft.letter})
    return Advice(AdviceCode(decision.state), decision.reason)


def _causes_first(case: Case):
    """What stops and causes ask for, before any figure is changed."""
    if case.stops:
        yield Advice(AdviceCode.AFTER_STOP, params={"stops": case.stops})
    elif case.danger:
        yield Advice(AdviceCode.AFTER_DANGER)
    for cause, code in BY_CAUSE.items():
        if serials := case.list_serials(cause):
            yield Advice(code, builds=serials)
    for _side, text, serials in case.confirmed:
        yield Advice(AdviceCode.CONFIRMED, text, tuple(serials))


def _of_groups(label: str) -> AdviceCode:
    """Groups that differ by how they were measured say nothing of their parts."""
    is_of_measuring = bool(label) and Circumstance.from_code(label).kind in MEASURING
    return AdviceCode.MEASURE_AGAIN if is_of_measuring else AdviceCode.COMPARE_GROUPS


def _figures(case: Case):
    """What the readings themselves ask for."""
    kind = case.sense.kind
    if kind in (Kind.FIGURE_OFF, Kind.TOO_TIGHT):
        yield from _of_figures(case)
    elif kind == Kind.BATCH:
        yield Advice(_of_groups(case.sense.label))
    elif kind == Kind.UNCLEAR and not case.list_serials(Cause.WORDING):
        yield Advice(AdviceCode.SAY_MORE)
    elif not (case.is_grave or case.otherwise_faulty):
        yield _quiet(case)


def _of_figures(case: Case):
    if isinstance(case.proposal, Withheld):
        yield Advice(AdviceCode.WITHHELD, why_withheld(case.proposal))
    elif case.may_change_figures:
        first, then = [_change(case)], list(_sources(case))
        if case.agreement and case.agreement.verdict is Verdict.BUILDS_APART:
            first, then = then, first  # guide and circuit know nothing of each other: the builds are looked at first
        yield from (*first, *then)
    elif not (case.is_grave or case.otherwise_faulty):
        yield Advice(AdviceCode.KEEP_BAND)


def _sources(case: Case):
    """Whether the circuit is with the builds or with the guide, where the figure is in question."""
    agreement = case.agreement
    if (
        case.sense.kind == Kind.FIGURE_OFF
        and agreement
        and agreement.circuit is not None
        and agreement.verdict != Verdict.AGREE
    ):
        yield Advice(AdviceCode.SOURCES, agreement_sentence(agreement, case.check.unit))


def _change(case: Case) -> Advice:
    check, band, median = case.check, case.band, case.summary.median
    if case.sense.kind == Kind.TOO_TIGHT:
        return Advice(AdviceCode.WIDEN)
    if median is None or band is None or band.expected is None:
        return Advice(AdviceCode.MOVE_BAND)
    proposal = case.proposal
    figure, digits = (proposal.figure, proposal.digits) if isinstance(proposal, Proposal) else (median, 3)
    figures = {
        "before": format_figure(band.expected, check.unit),
        "after": format_figure(figure, check.unit, digits),
    }
    return Advice(AdviceCode.CHANGE_FIGURE, params=figures)


def _quiet(case: Case) -> Advice:
    """Where the guide's figure is right, so far as the builds can say."""
    if case.sense.kind == Kind.SINGLES:
        return Advice(AdviceCode.SINGLE_BUILDS, builds=case.out)
    if case.sense.kind == Kind.NOT_ENOUGH:
        n = case.missed.n
        return Advice(AdviceCode.TOO_FEW, params={"count": n}) if n < FEWEST else Advice(AdviceCode.WAIT)
    if case.snags:
        return Advice(AdviceCode.READ_SNAGS)
    if case.agreement and case.agreement.verdict == Verdict.BUILDS_APART:
        return Advice(AdviceCode.BUILDS_APART)
    return Advice(AdviceCode.SINGLE_BUILDS, builds=case.out) if case.out else Advice(AdviceCode.NOTHING)


def suggest_step(step, decisions, planned: str) -> str:
    """Of snags about a step, a part or a stage (`step` None): what was decided, else what to write."""
    made = [d for d in decisions if d.state in SETTLED]
    if made:
        return _each_once(decision_advice(d) for d in made)
    if planned:
        return planned
    text = shortened(to_text(step.text)) if step else ""
    rewrite = Advice(AdviceCode.REWRITE_STEP, params={"step": text}) if step else Advice(AdviceCode.REWRITE)
    return _each_once([*(decision_advice(d) for d in decisions), rewrite])


def _each_once(advice) -> str:
    return " ".join(dict.fromkeys(map(advice_sentence, advice)))


def decision_summary(decision) -> str:
    """What was decided, with the reason."""
    return advice_sentence(decision_advice(decision))


def shortened(text: str, most: int = 160) -> str:
    """At most so many characters, cut between words."""
    return text if len(text) <= most else f"{text[:most].rsplit(' ', 1)[0]} …"
