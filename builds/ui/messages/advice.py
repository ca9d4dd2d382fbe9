"""Advice on a reading that is off, in sentences; and what slips, mistakes and further readings look like."""

from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from builds.ui.formatting import format_figure
from builds.ui.messages.faults import fault_sentence
from checks.diagnosis.advice import Advice, AdviceCode, Sentence
from checks.diagnosis.codes import Likelihood
from checks.diagnosis.common_mistakes import MistakeKind
from checks.diagnosis.next_measurement import Pointer
from checks.diagnosis.reading_scale import nothing_below
from checks.diagnosis.slips import SlipKind


@dataclass(frozen=True)
class AdviceText:
    """`lead` is shown first and alone, `more` folded; `power_off` says that the power is to be off."""

    lead: str
    more: tuple[str, ...]
    power_off: bool
    code: str


def advice_text(advice: Advice | None) -> AdviceText | None:
    if advice is None:
        return None
    more = tuple(advice_sentence(sentence) for sentence in advice.folded)
    return AdviceText(advice_sentence(advice.lead), more, advice.power_off, advice.lead.code.value)


def advice_sentence(sentence: Sentence) -> str:
    params = dict(sentence.params)
    if "value" in params:
        params["value"] = format_figure(params["value"], params.get("unit", ""))
    if "fault" in params:
        params["fault"] = fault_sentence(params["fault"])
    if "faults" in params:
        params["faults"] = "; ".join(fault_sentence(fault) for fault in params["faults"])
    if "kind" in params:
        params["error"] = slip_sentence(params["kind"], params.get("pin", ""))
    if "likelihood" in params:
        params["likelihood"] = likelihood_label(params["likelihood"])
    if "mistake" in params:
        params["mistake"] = mistake_sentence(params["mistake"])
    return _ADVICE[sentence.code](params) % params


def _measuring_error(params) -> str:
    if params.get("supporting"):
        return _(
            "This is most likely a measuring error: it looks like %(error)s. All your other readings fit a good kit. "
            "Measure again."
        )
    return _("This is most likely a measuring error: it looks like %(error)s. Measure again.")


def _fits_good_kit(params) -> str:
    if params.get("supporting"):
        return _(
            "Together with your other readings, this still fits a good kit: it is at the edge of the "
            "tolerances, or the figure in the guide is wrong. Measure again. If you get the same "
            "reading, report a snag."
        )
    return _(
        "According to the parts list, this still fits a good kit: it is at the edge of the "
        "tolerances, or the figure in the guide is wrong. Measure again. If you get the same "
        "reading, report a snag."
    )


_ADVICE = {
    AdviceCode.SWITCH_OFF: lambda p: _(
        "Switch off now. Unplug. This reading can mean that a part is overloaded. Look for the cause with the power "
        "off."
    ),
    AdviceCode.KEEP_OFF: lambda p: _(
        "Keep it unplugged until you have found the fault: this reading can mean that a part is overloaded."
    ),
    AdviceCode.POWER_MAY_STAY: lambda p: _("You need not switch off: this reading does not point to an overload."),
    AdviceCode.NEGATIVE_SUPPLY: lambda p: _(
        "%(value)s is the wrong way round: the meter leads are swapped, or a rectifier is reversed. A reversed "
        "rectifier destroys the electrolytic capacitors."
    ),
    AdviceCode.WRONG_SIGN: lambda p: _("%(value)s has the wrong sign: the meter leads may be swapped."),
    AdviceCode.CHARGED_CAPACITOR: lambda p: _(
        "Unplug and discharge. %(value)s means that a capacitor is still charged: no resistance is negative. Measure "
        "its DC volts before you touch anything."
    ),
    AdviceCode.ONE_MISTAKE: lambda p: _(
        "Many of your readings look like one mistake: %(mistake)s. Correct it and measure again."
    ),
    AdviceCode.SAME_TWICE: lambda p: _(
        "You have measured this twice with the same result. Either the probe is on the same wrong point both times, "
        "or the figure in the guide is wrong. Look at the point, then report a snag."
    ),
    AdviceCode.MEASURING_ERROR: _measuring_error,
    AdviceCode.FITS_GOOD_KIT: _fits_good_kit,
    AdviceCode.OTHER_READING: lambda p: _(
        "A measuring error at “%(title)s” is %(likelihood)s: it looks like %(error)s."
    ),
    AdviceCode.LIKELY_CAUSE: lambda p: _("Most likely cause: %(fault)s."),
    AdviceCode.LIKELY_CAUSES: lambda p: _("The cause is most likely one of these: %(faults)s."),
    AdviceCode.NO_KNOWN_FAULT: lambda p: _(
        "No single known fault explains these readings. Report a snag with a photo."
    ),
    AdviceCode.MAYBE_TWO_FAULTS: lambda p: _(
        "It may also be two faults at once, or a fault that is not on the list. Report a snag with a photo."
    ),
    AdviceCode.NOTHING_FOUND: lambda p: _(
        "If you find nothing wrong with the power off, report a snag before you switch on. The figure in the guide may "
        "be wrong."
    ),
    AdviceCode.FIND_CAUSE: lambda p: _("Find the cause before you continue."),
}


def find_the_fault(is_live: bool) -> str:
    """While a stop or an overload stands, whichever reading it was."""
    if is_live:
        return _("Switch off. Unplug. Find the fault.")
    return _("Keep it unplugged until you have found the fault.")


def likelihood_label(likelihood: Likelihood) -> str:
    return {
        Likelihood.VERY_LIKELY: pgettext("cause", "very likely"),
        Likelihood.LIKELY: pgettext("cause", "likely"),
        Likelihood.POSSIBLE: pgettext("cause", "possible"),
        Likelihood.LESS_LIKELY: pgettext("cause", "less likely"),
    }[likelihood]


def slip_sentence(kind: SlipKind, pin: str = "") -> str:
    """What a measuring error looks like, to end a sentence with."""
    return {
        SlipKind.TENTH: _("a tenth of the right value (range, prefix or decimal point)"),
        SlipKind.TEN_TIMES: _("ten times the right value (range, prefix or decimal point)"),
        SlipKind.THOUSANDTH: _("a thousandth of the right value (V for mV, or kΩ for Ω)"),
        SlipKind.THOUSAND_TIMES: _("a thousand times the right value (mV for V, or Ω for kΩ)"),
        SlipKind.LEADS_SWAPPED: _("swapped meter leads"),
        SlipKind.NO_CONTACT: _("a meter set to AC volts, or a probe without contact"),
        SlipKind.NEIGHBOUR: _("a probe on pin %(pin)s") % {"pin": pin},
        SlipKind.THROUGH_DIODE: _("the meter’s own voltage passing through a diode (swap the probes)"),
        SlipKind.UNKNOWN: _("a wrong point, a wrong range or a typing error"),
    }[kind]


def mistake_sentence(kind: MistakeKind) -> str:
    """One mistake in many readings, to end a sentence with."""
    return {
        MistakeKind.LEADS_SWAPPED: _("the meter leads were swapped"),
        MistakeKind.NOTED_TOO_SMALL: _("the figures were noted a thousand times too small (V for mV, or kΩ for Ω)"),
        MistakeKind.NOTED_TOO_LARGE: _("the figures were noted a thousand times too large (mV for V, or Ω for kΩ)"),
    }[kind]


def pointer_range(pointer: Pointer) -> str:
    """Where a next reading would lie: "below 3.2 V", "12 to 14 V", "above 200 V"."""
    low, high = (
        round_predicted(value, pointer.unit) if value is not None else None for value in (pointer.low, pointer.high)
    )
    if low is None:
        return _("below %(high)s") % {"high": high}
    if high is None:
        return _("above %(low)s") % {"low": low}
    return _("%(low)s to %(high)s") % {"low": low, "high": high}


def pointer_meaning(pointer: Pointer) -> str:
    """What a next reading in that range would point to."""
    if pointer.healthy:
        return _("none of these: this is what a good kit reads")
    named = "; ".join(fault_sentence(fault) for fault in pointer.faults)
    return _("%(faults)s; or another fault") % {"faults": named} if pointer.more else named


def round_predicted(value: float, unit: str) -> str:
    """A predicted figure to two places; what no meter tells from nothing is 0."""
    return f"0 {unit}" if abs(value) < nothing_below(unit) else format_figure(value, unit, 2)


def predicted_reading(value: float | None, unit: str) -> str:
    """What a check would read: "about 12 V"; `value` None is over range."""
    return _("over range") if value is None else _("about %(figure)s") % {"figure": round_predicted(value, unit)}
