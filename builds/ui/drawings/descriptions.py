"""The drawings in words, for screen readers."""

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from checks.circuit.valves.pinouts import CAP, plain_base

BASES = {
    "B9A": gettext_lazy("noval, nine pins"),
    "B7G": gettext_lazy("miniature, seven pins"),
    "octal": gettext_lazy("octal, eight pins and a key"),
    "UX4": gettext_lazy("four pins, two of them wide"),
    "UX5": gettext_lazy("five pins"),
    "UX6": gettext_lazy("six pins, two of them wide"),
    "UX7": gettext_lazy("seven pins, two of them wide"),
    "loctal": gettext_lazy("loctal, eight thin pins and a key"),
    "B8A": gettext_lazy("eight pins, counted from the pip"),
}
MARKS = {
    "gap": gettext_lazy("the gap"),
    "key": gettext_lazy("the key"),
    "pip": gettext_lazy("the pip"),
    "wide pins": gettext_lazy("the wide pins"),
    "heater pins": gettext_lazy("between the heater pins"),
}


def describe_scale(figures: dict[str, str], outcome="") -> str:
    """The scale drawing as a list: band, reading with its verdict, stop limits. `figures`: scale_marks.figures_on."""
    sentences = [
        _("Band from %(low)s to %(high)s.") if {"low", "high"} <= figures.keys() else "",
        _("Band from %(low)s.") if "low" in figures and "high" not in figures else "",
        _("Band up to %(high)s.") if "high" in figures and "low" not in figures else "",
        _("Reading %(value)s.") if "value" in figures else "",
        _("Verdict: %(outcome)s.") if "value" in figures and outcome else "",
        _("Switch off above %(stop_above)s.") if "stop_above" in figures else "",
        _("Switch off below %(stop_below)s.") if "stop_below" in figures else "",
    ]
    return " ".join(filter(None, sentences)) % (figures | {"outcome": outcome})


def describe_socket(base, ref: str, red: str = "", black: str = "") -> str:
    """The socket drawing: base, view, and on which pins the probes go."""
    names = {"ref": ref, "base": BASES.get(plain_base(base.name), base.name), "mark": MARKS[base.mark]}
    sentences = [
        _("Socket of %(ref)s (%(base)s), seen from below. Pins are numbered clockwise from %(mark)s at the bottom.")
        % names
    ]
    if red:
        on_cap = _("Red probe on the cap on top of the valve.")
        sentences.append(on_cap if red == CAP else _("Red probe on pin %(pin)s.") % {"pin": red})
    if black:
        on_cap = _("Black probe on the cap on top of the valve.")
        sentences.append(on_cap if black == CAP else _("Black probe on pin %(pin)s.") % {"pin": black})
    return " ".join(sentences)


def caption_socket(base, ref: str) -> str:
    """The line below the socket drawing."""
    return _("%(ref)s from below, clockwise from %(mark)s.") % {"ref": ref, "mark": MARKS[base.mark]}
