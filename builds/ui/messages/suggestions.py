"""What to do about a finding: the codes of advice, and their sentences."""

from dataclasses import dataclass, field
from enum import StrEnum

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

MOST_NAMED = 4  # builds


class AdviceCode(StrEnum):
    ACCEPTED = "accepted"
    ACCEPTED_INTO = "accepted into"
    REJECTED = "rejected"
    DEFERRED = "deferred"
    PLANNED = "planned"
    AFTER_STOP = "after a stop"
    AFTER_DANGER = "after danger"
    WORKMANSHIP = "workmanship"
    PART = "part"
    METER = "meter"
    DESIGN = "design"
    WORDING = "wording"
    CONFIRMED = "confirmed"
    WITHHELD = "withheld"
    WIDEN = "widen"
    CHANGE_FIGURE = "change figure"
    MOVE_BAND = "move band"
    KEEP_BAND = "keep band"
    SOURCES = "sources"
    COMPARE_GROUPS = "compare groups"
    MEASURE_AGAIN = "measure again"
    SAY_MORE = "say more"
    SINGLE_BUILDS = "single builds"
    TOO_FEW = "too few"
    WAIT = "wait"
    READ_SNAGS = "read snags"
    BUILDS_APART = "builds apart"
    NOTHING = "nothing"
    REWRITE_STEP = "rewrite step"
    REWRITE = "rewrite"


IDLE = (
    AdviceCode.SINGLE_BUILDS,
    AdviceCode.BUILDS_APART,
    AdviceCode.WAIT,
    AdviceCode.NOTHING,
    AdviceCode.REJECTED,
)


@dataclass(frozen=True)
class Advice:
    """One piece of advice. `text`: the designer's, a builder's or a finding's own words; `builds`: serials."""

    code: AdviceCode
    text: str = ""
    builds: tuple[str, ...] = ()
    params: dict = field(default_factory=dict)

    @property
    def changes_nothing(self) -> bool:
        """Is there nothing to change in the guide, at least for now?"""
        return self.code in IDLE


def advice_sentence(advice: Advice) -> str:
    """One piece of advice in a sentence or two."""
    if advice.code in (AdviceCode.PLANNED, AdviceCode.WITHHELD, AdviceCode.SOURCES):
        return advice.text
    named = {"builds": listed(advice.builds), "text": with_stop(advice.text), "n": len(advice.builds)}
    return _SENTENCES[advice.code](advice) % {**named, **advice.params}


def listed(serials) -> str:
    """Serial numbers, the first few by name."""
    shown, more = ", ".join(serials[:MOST_NAMED]), len(serials) - MOST_NAMED
    return _("%(builds)s and %(n)s more") % {"builds": shown, "n": more} if more > 0 else shown


def with_stop(text: str) -> str:
    """A text with a full stop at its end."""
    text = text.strip()
    return text if not text or text[-1] in ".?:;…" else f"{text}."


def _decided(plain, reasoned):
    return lambda advice: reasoned() if advice.text.strip() else plain()


_SENTENCES = {
    AdviceCode.ACCEPTED: _decided(lambda: _("Accepted."), lambda: _("Accepted. %(text)s")),
    AdviceCode.ACCEPTED_INTO: _decided(
        lambda: _("Accepted, and written into revision %(letter)s."),
        lambda: _("Accepted, and written into revision %(letter)s. %(text)s"),
    ),
    AdviceCode.REJECTED: _decided(
        lambda: _("Rejected: nothing to change."), lambda: _("Rejected: nothing to change. %(text)s")
    ),
    AdviceCode.DEFERRED: _decided(lambda: _("Deferred."), lambda: _("Deferred. %(text)s")),
    AdviceCode.AFTER_STOP: lambda advice: ngettext(
        "Keep the band and the stop limit: %(stops)s build went past it. Find out why before you change anything else.",
        "Keep the band and the stop limit: %(stops)s builds went past it. Find out why before you change anything "
        "else.",
        advice.params["stops"],
    ),
    AdviceCode.AFTER_DANGER: lambda advice: _(
        "A builder reported danger: answer that before you change anything else, and keep the band until you know the "
        "cause."
    ),
    AdviceCode.WORKMANSHIP: lambda advice: _(
        "The cause was workmanship (%(builds)s): keep the expected value and the band. At the step before, say how to "
        "get this right and how to see that it is."
    ),
    AdviceCode.PART: lambda advice: _(
        "The cause was a part (%(builds)s): keep the expected value and the band. Compare the parts of these builds, "
        "and ask the supplier."
    ),
    AdviceCode.METER: lambda advice: _(
        "The cause was the meter (%(builds)s): keep the expected value and the band. At the check, say which meter is "
        "suitable."
    ),
    AdviceCode.DESIGN: lambda advice: _(
        "The cause was the design (%(builds)s): correct the circuit first; the figures follow from it."
    ),
    AdviceCode.WORDING: lambda advice: _(
        "The cause was the wording (%(builds)s): keep the expected value and the band. Say more clearly where to probe "
        "and what to wait for."
    ),
    AdviceCode.CONFIRMED: lambda advice: _("Confirmed at the bench (%(builds)s): %(text)s"),
    AdviceCode.WIDEN: lambda advice: _("Widen the band: good builds spread further than it allows."),
    AdviceCode.CHANGE_FIGURE: lambda advice: _(
        "Change the expected value from %(before)s to %(after)s. First check whether the part or the printed value is "
        "at fault."
    ),
    AdviceCode.MOVE_BAND: lambda advice: _("Move the band to where the builds read, if the circuit is right."),
    AdviceCode.KEEP_BAND: lambda advice: _(
        "Keep the band: the builds that agree are well inside it. Look at the builds that are out of band."
    ),
    AdviceCode.COMPARE_GROUPS: lambda advice: _("Compare the parts of the two groups before you change the guide."),
    AdviceCode.MEASURE_AGAIN: lambda advice: _(
        "Compare how the two groups measured, their meters and their mains, before you change the guide."
    ),
    AdviceCode.SAY_MORE: lambda advice: _(
        "Keep the expected value. Say more clearly where to probe and what to wait for."
    ),
    AdviceCode.SINGLE_BUILDS: lambda advice: (
        _("Nothing to change in the guide; see %(builds)s.") if advice.builds else _("Nothing to change in the guide.")
    ),
    AdviceCode.TOO_FEW: lambda advice: ngettext(
        "Too early to say: %(count)s build so far.",
        "Too early to say: %(count)s builds so far.",
        advice.params["count"],
    ),
    AdviceCode.WAIT: lambda advice: _("Too early to say. Change nothing until more builds have a reading."),
    AdviceCode.READ_SNAGS: lambda advice: _("Read the snags. The expected value and the band need no change."),
    AdviceCode.BUILDS_APART: lambda advice: _(
        "Keep the expected value for now: most builds read in band, but not where the guide and the circuit say. Look "
        "at the parts and the instructions."
    ),
    AdviceCode.NOTHING: lambda advice: _(
        "Nothing to change: builds that were not in band at first were in band later, and the "
        "builds agree with the guide."
    ),
    AdviceCode.REWRITE_STEP: lambda advice: _("Rewrite this step: %(step)s"),
    AdviceCode.REWRITE: lambda advice: _("Read the builders’ reports and correct what misled them."),
}
