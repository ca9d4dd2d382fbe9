"""The drawings in words, for screen readers."""

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from builds.ui.formatting import figure_words

BASES = {
    "B9A": gettext_lazy("noval, nine pins"),
    "B7G": gettext_lazy("miniature, seven pins"),
    "octal": gettext_lazy("octal, eight pins and a key"),
    "UX4": gettext_lazy("four pins, two of them wide"),
}
MARKS = {"gap": gettext_lazy("the gap"), "key": gettext_lazy("the key"), "wide pins": gettext_lazy("the wide pins")}


def describe_scale(unit, *, low=None, high=None, value=None, stop_above=None, stop_below=None, outcome="") -> str:
    """The scale drawing as a list: band, reading with its verdict, stop limits."""
    sentences = [
        (low, _("Band from %(value)s.")),
        (high, _("Band up to %(value)s.")),
        (value, _("Reading %(value)s: %(outcome)s.") if outcome else _("Reading %(value)s.")),
        (stop_above, _("Switch off above %(value)s.")),
        (stop_below, _("Switch off below %(value)s.")),
    ]
    given = [(figure, text) for figure, text in sentences if figure is not None]
    return " ".join(text % {"value": figure_words(figure, unit), "outcome": outcome} for figure, text in given)


def describe_socket(base, ref: str, red: str = "", black: str = "") -> str:
    """The socket drawing: base, view, and on which pins the probes go."""
    names = {"ref": ref, "base": BASES.get(base.name, base.name), "mark": MARKS[base.mark]}
    sentences = [
        _("Socket of %(ref)s (%(base)s), seen from below. Pins are numbered clockwise from %(mark)s at the bottom.")
        % names
    ]
    if red:
        sentences.append(_("Red probe on pin %(pin)s.") % {"pin": red})
    if black:
        sentences.append(_("Black probe on pin %(pin)s.") % {"pin": black})
    return " ".join(sentences)


def caption_socket(base, ref: str) -> str:
    """The line below the socket drawing."""
    return _("%(ref)s from below, clockwise from %(mark)s.") % {"ref": ref, "mark": MARKS[base.mark]}
