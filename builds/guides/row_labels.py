"""A guide's rows, fields and figures as a person reads them: for lists of changes, never for the guide file."""

import re

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from builds.ui.moments import format_day
from builds.ui.rich_text import to_text

FIGURES = ("expected", "band", "low", "high", "at_least", "at_most")
FIELDS = {
    "at_least": gettext_lazy("at least"),
    "at_most": gettext_lazy("at most"),
    "band": gettext_lazy("band"),
    "bag": gettext_lazy("bag"),
    "base": gettext_lazy("base"),
    "becomes": gettext_lazy("becomes"),
    "black": gettext_lazy("black probe"),
    "crop": gettext_lazy("crop"),
    "mark": gettext_lazy("marks"),
    "turn": gettext_lazy("turn"),
    "cautions": gettext_lazy("cautions"),
    "expected": gettext_lazy("expected value"),
    "figure_from": gettext_lazy("source of the figure"),
    "gate": gettext_lazy("gate"),
    "hands_in": gettext_lazy("hands inside the kit"),
    "high": gettext_lazy("upper limit"),
    "hint": gettext_lazy("hints"),
    "hints": gettext_lazy("hints"),
    "intro": gettext_lazy("introduction"),
    "joins": gettext_lazy("joins"),
    "key": gettext_lazy("short name"),
    "kind": gettext_lazy("kind"),
    "limits": gettext_lazy("limits"),
    "low": gettext_lazy("lower limit"),
    "mains": gettext_lazy("mains"),
    "mains_exponent": gettext_lazy("mains exponent"),
    "marker": gettext_lazy("position on the picture"),
    "measure": gettext_lazy("measurement"),
    "minutes": gettext_lazy("minutes"),
    "name": gettext_lazy("name"),
    "node": gettext_lazy("node"),
    "not_fitted": gettext_lazy("parts not fitted yet"),
    "note": gettext_lazy("note"),
    "optional": gettext_lazy("optional"),
    "order": gettext_lazy("order of steps and checks"),
    "parts": gettext_lazy("parts"),
    "photo": gettext_lazy("photo"),
    "places": gettext_lazy("positions on further pictures"),
    "picture": gettext_lazy("picture"),
    "pins": gettext_lazy("pins"),
    "power": gettext_lazy("power"),
    "prototype": gettext_lazy("prototype"),
    "quantity": gettext_lazy("quantity"),
    "read_with": gettext_lazy("meter the figures were read with"),
    "red": gettext_lazy("red probe"),
    "ref": gettext_lazy("reference"),
    "settings": gettext_lazy("control positions"),
    "signal": gettext_lazy("signal"),
    "source_resistance": gettext_lazy("source resistance"),
    "stop_above": gettext_lazy("stop limit above"),
    "stop_below": gettext_lazy("stop limit below"),
    "summary": gettext_lazy("summary"),
    "supply": gettext_lazy("supply"),
    "taps": gettext_lazy("mains taps"),
    "text": gettext_lazy("text"),
    "through": gettext_lazy("resistor the current goes through"),
    "title": gettext_lazy("title"),
    "tolerance": gettext_lazy("tolerance"),
    "type": gettext_lazy("type"),
    "value": gettext_lazy("value"),
    "winding": gettext_lazy("windings"),
    "words": gettext_lazy("words"),
}
MARKED = ("text", "intro", "note", "summary")  # Markdown
NUMBER = re.compile(r"([+−-]?\d+(?:[.,]\d+)?)\s*(%|[A-Za-zµμΩ°]+)?")


def format_figures(figures: dict) -> str:
    """A figure with its band, as typed: "262 V ± 6 %", "231 V, 218 to 244 V", "at least 100 kΩ"; empty where nothing is
    given."""
    typed = {name: spaced(str(figures.get(name) or "").strip()) for name in FIGURES}
    expected = _("calculated from the circuit") if typed["expected"].lower() == "model" else typed["expected"]
    if typed["band"]:
        return f"{expected} ± {typed['band'].lstrip('± ')}".strip()
    limits = [limits_text(typed["low"], typed["high"])] if typed["low"] or typed["high"] else []
    limits += [_("at least %(limit)s") % {"limit": typed["at_least"]}] if typed["at_least"] else []
    limits += [_("at most %(limit)s") % {"limit": typed["at_most"]}] if typed["at_most"] else []
    return ", ".join(x for x in (expected, *limits) if x)


def format_figures_and_stops(figures: dict) -> str:
    """The same with the stop limits: "262 V ± 6 %, switch off above 400 V"."""
    above, below = (spaced(str(figures.get(name) or "").strip()) for name in ("stop_above", "stop_below"))
    stops = [_("switch off above %(limit)s") % {"limit": above}] if above else []
    stops += [_("switch off below %(limit)s") % {"limit": below}] if below else []
    return ", ".join(filter(None, (format_figures(figures), *stops)))


def corrected_to(figures: dict) -> str:
    """The figures of an erratum."""
    return _("Corrected figures: %(figures)s.") % {"figures": format_figures_and_stops(figures)}


def correction_note(check) -> str:
    """That a check's figures were corrected since its guide was issued, or that this was undone, and the figures as
    issued; empty for a check whose figures were never touched."""
    if check.correction is not None:
        params = {"day": format_day(check.correction.at), "figures": format_figures_and_stops(check.as_issued)}
        return _("These figures were corrected on %(day)s. As issued: %(figures)s.") % params
    if check.undone is not None:
        params = {"day": format_day(check.undone.withdrawn_at)}
        return _("The figures of an erratum were withdrawn on %(day)s. The guide’s own figures apply again.") % params
    return ""


def limits_text(low: str, high: str) -> str:
    """Two limits as typed, the unit once where it is the same: "218 to 244 V"."""
    unit = high.rpartition(" ")[2]
    if low and high:
        shown = low.removesuffix(f" {unit}") if " " in high else low
        return _("%(low)s to %(high)s") % {"low": shown, "high": high}
    return _("from %(low)s") % {"low": low} if low else _("up to %(high)s") % {"high": high}


def spaced(figure: str) -> str:
    """A figure as typed with a space before its unit: "6%" is "6 %". What is no plain figure ("4k7") is left alone."""
    match = NUMBER.fullmatch(figure)
    return f"{match[1]} {match[2]}" if match and match[2] else figure


def field_label(key: str) -> str:
    return str(FIELDS.get(key, key.replace("_", " ")))


def value_text(key: str, value) -> str:
    """Any value of a row as plain text: Markdown without its marks, lists and tables with commas."""
    if value is None or value == "":
        return ""
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, list):
        joined = "; " if value and isinstance(value[0], dict) else ", "
        return joined.join(value_text(key, item) for item in value)
    if isinstance(value, dict) and {"when", "text"} <= set(value):
        return f"{value['when']}: {value['text']}"
    if isinstance(value, dict):
        return ", ".join(f"{field_label(str(k))} {value_text(k, v)}" for k, v in value.items())
    return to_text(value) if key in MARKED and isinstance(value, str) else spaced(str(value))
