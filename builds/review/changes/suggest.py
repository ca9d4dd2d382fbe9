"""What to do about a finding, in words that fit what was found to be the cause and what was decided."""

from builds.review.changes.case import Case
from builds.review.models import Cause, Decision
from builds.ui.rich_text import to_text
from checks.quantity import format_quantity
from checks.statistics.findings import FEWEST
from checks.statistics.tolerance import Proposal, Withheld

MOST_NAMED = 4  # builds
BY_CAUSE = {
    Cause.WORKMANSHIP: "Workmanship was found{builds}: keep the figure and the band. Say at the "
    "step before how to get this right, and "
    "how to see that it is.",
    Cause.PART: "A part was found at fault{builds}: keep the figure and the band. Compare the parts "
    "of these builds, and ask the "
    "supplier.",
    Cause.METER: (
        "The meter was found at fault{builds}: keep the figure and the band. Say at the check which meter will do."
    ),
    Cause.DESIGN: "The design was found at fault{builds}: mend the circuit first; the figures follow from it.",
    Cause.WORDING: "The words were found at fault{builds}: keep the figure and the band. Say more "
    "clearly where to probe and what to "
    "wait for.",
}
SETTLED = (Decision.State.ACCEPTED, Decision.State.REJECTED)


def suggest(case: Case, planned: str = "") -> str:
    """A suggested edit in words. What was decided comes before it, and what the designer `planned` before what is
    worked out."""
    state = case.decision.state if case.decision else ""
    if state in SETTLED:
        return decided_words(case.decision)
    if planned:
        return planned
    put_off = f"{decided_words(case.decision)} " if state else ""
    return put_off + " ".join([*_causes_first(case), *_figures(case)])


def decided_words(decision) -> str:
    """What was decided, with the reason, and that nothing is left to do."""
    reason = f" {sentence(decision.reason)}" if decision.reason.strip() else ""
    if decision.state == Decision.State.ACCEPTED:
        letter = f" {decision.draft.letter}" if decision.draft else ""
        return f"Accepted, and written into revision{letter}.{reason}" if letter else f"Accepted.{reason}"
    if decision.state == Decision.State.REJECTED:
        return f"Nothing to change: rejected.{reason}"
    return f"Put off.{reason}"


def sentence(words: str) -> str:
    """Words with their stop."""
    words = words.strip()
    return words if not words or words[-1] in ".?:;…" else f"{words}."


def _causes_first(case):
    """What stops and causes ask for, before any figure is touched."""
    if case.stops:
        builds = "1 build" if case.stops == 1 else f"{case.stops} builds"
        yield f"Keep the band and the stop limit: {builds} went past it. Find out why before anything else is changed."
    elif case.danger:
        yield (
            "Danger was reported: answer that before anything else is changed, and keep the band "
            "until the cause is known."
        )
    for cause, words in BY_CAUSE.items():
        serials = case.serials_of(cause)
        if serials:
            yield words.format(builds=f" in {_named(serials)}")
    for _side, words, serials in case.confirmed:
        yield f"Confirmed at the bench of {_named(serials)}: {sentence(words)}"


def _named(serials) -> str:
    shown, more = serials[:MOST_NAMED], len(serials) - MOST_NAMED
    return ", ".join(shown) + (f" and {more} more" if more > 0 else "")


def _figures(case: Case):
    """What the readings themselves ask for."""
    kind = case.sense.kind
    if kind in ("figure off", "band too tight"):
        if isinstance(case.proposal, Withheld):
            yield case.proposal.why
        elif case.may_change_figures:
            yield _change(case)
        elif not (case.is_grave or case.blamed):
            yield "Keep the band: the builds that agree lie well inside it. Look at the builds that are out."
        return
    if kind == "part batch":
        yield f"Compare the parts of the two groups before touching the guide. {case.sense.words}"
    elif kind == "step unclear" and not case.serials_of(Cause.WORDING):
        yield "Keep the figure. Say more clearly where to probe and what to wait for."
    elif not (case.is_grave or case.blamed):
        yield _quiet(case)


def _change(case: Case) -> str:
    check, band, median = case.check, case.band, case.summary.median
    if case.sense.kind == "band too tight":
        return "Widen the band: good builds scatter by more than it allows."
    if median is None or band is None or band.expected is None:
        return "Move the band to where the builds read, if the circuit is right."
    figure, digits = (
        (case.proposal.figure, case.proposal.digits) if isinstance(case.proposal, Proposal) else (median, 3)
    )
    to = format_quantity(figure, check.unit, digits)
    return (
        f"Change the expected value from {format_quantity(band.expected, check.unit)} to {to}: "
        f"{case.sense.words} First look whether the part or the printed figure is at fault."
    )


def _quiet(case: Case) -> str:
    """Where the guide's figure stands."""
    n = case.missed.n
    if case.sense.kind == "single builds":
        return (
            f"Nothing to change in the guide; see {_named(case.out)}."
            if case.out
            else "Nothing to change in the guide."
        )
    if case.sense.kind == "not enough" and n < FEWEST:
        return f"Too early to say: {n} build{'' if n == 1 else 's'} so far."
    if case.sense.kind == "not enough":
        return "Too early to say: more builds will tell. Change nothing until then."
    if case.snags:
        return "Nothing to change in the figure; read the snags."
    return "Nothing to change: those that missed it came right, and the builds agree with the guide."


def suggest_step(step, decisions, planned: str) -> str:
    """Of snags about a step, a part or a stage (`step` None): what was decided, else what to write."""
    made = [d for d in decisions if d.state in SETTLED]
    if made:
        return " ".join(dict.fromkeys(decided_words(d) for d in made))
    if planned:
        return planned
    put_off = " ".join(dict.fromkeys(decided_words(d) for d in decisions))
    asked = (
        f"Rewrite this step: {shortened(to_text(step.text))}"
        if step
        else "Read the builders' words and mend what they stumbled over."
    )
    return f"{put_off} {asked}".strip()


def shortened(words: str, most: int = 160) -> str:
    """At most so many characters, cut between words."""
    return words if len(words) <= most else f"{words[:most].rsplit(' ', 1)[0]} …"
