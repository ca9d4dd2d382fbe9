"""The signal a check is read under: its rules, and what the builder is told."""

from django.utils.translation import gettext as _

from builds.ui.messages.errors import message_for
from checks.circuit import stated_signal
from checks.circuit.netlist.signal import UNITS
from checks.errors import ChecksError
from checks.meter import LEAST_AC_HERTZ, USUAL_AC_HERTZ
from checks.quantity import format_typed, parse_quantity

SIGNAL_MESSAGES = {
    "signal-key": lambda: _("“%(key)s” is not a key of a signal. Accepted: into, level, frequency, load, load_at, of."),
    "signal-text": lambda: _("%(key)s must be text, such as 100 mV."),
    "signal-of": lambda: _("A signal needs into, level and frequency, or only of = ripple."),
    "signal-missing": lambda: _("%(key)s is missing in the signal."),
    "signal-range": lambda: _("%(key)s is “%(typed)s”, which is out of range."),
    "signal-figure": lambda: _("%(key)s: %(reason)s"),
}


def signal_rules(row: dict):
    """Yield (key, message) unless a check's signal can be read, and is that of AC volts."""
    signal = row.get("signal")
    if not signal or not isinstance(signal, dict):
        return
    if row.get("measure") != "ac volts":
        yield "signal", _("Only AC volts are read under a signal. Leave this blank, or measure AC volts.")
    try:
        stated_signal(signal)
    except ChecksError as error:
        yield "signal", signal_message(error)


def signal_message(error: ChecksError) -> str:
    """What is wrong with a signal."""
    key = {"key": error.params["key"], **error.params}
    if "inner" in key:
        key["reason"] = message_for(key["inner"])
    return SIGNAL_MESSAGES[error.code]() % key


def signal_label(signal: dict | None, probes) -> str:
    """What the builder connects before the reading; empty where nothing is stated."""
    stated = stated_signal(signal)
    if signal is None or stated is None:
        return ""
    sentences = []
    if stated.signal.into:
        sentences.append(
            _("Feed %(level)s at %(frequency)s into %(place)s.")
            % {
                "level": _typed(signal, "level"),
                "frequency": _typed(signal, "frequency"),
                "place": probes.probe(stated.signal.into).location,
            }
        )
        sentences += _meter_wanted(signal, stated.hertz)
    else:
        sentences.append(_("No signal: this is the ripple of the supply."))
    if stated.signal.load_ohms:
        place = probes.probe(stated.signal.load_at).location
        sentences.append(
            _("Load: %(ohms)s from %(place)s to the chassis.") % {"ohms": _typed(signal, "load"), "place": place}
        )
    return " ".join(sentences)


def _meter_wanted(signal: dict, hertz: float) -> list[str]:
    """Beyond what the manuals of most meters state."""
    if LEAST_AC_HERTZ <= hertz <= USUAL_AC_HERTZ:
        return []
    sentence = _("Use a meter whose manual specifies AC volts at %(frequency)s; many do not.")
    return [sentence % {"frequency": _typed(signal, "frequency")}]


def _typed(signal: dict, key: str) -> str:
    """A figure with the digits the designer typed."""
    return format_typed(parse_quantity(signal[key], UNITS[key]))
