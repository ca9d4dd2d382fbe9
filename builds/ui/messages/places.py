"""Places to measure at, and rows of a guide, by their labels."""

from django.utils.translation import gettext as _

from builds.ui.formatting import format_figure
from checks.circuit.netlist.signal import RIPPLE, TONE
from checks.diagnosis.place import Place


def place_label(place: Place) -> str:
    """A check by its title; an extra reading by its points: "V2 pin 7 to chassis"."""
    if place.check:
        return place.title or place.check
    if place.probe.under == RIPPLE:
        return _("%(part)s, ripple") % {"part": place.part}
    if place.probe.under == TONE:
        points = {"red": place.probe.red, "black": place.probe.black}
        return _("%(red)s to %(black)s, %(hertz)s") % (points | {"hertz": format_figure(place.probe.hertz, "Hz")})
    label = extra_label(place.probe.red, place.part)
    return _("%(points)s, DC volts") % {"points": label} if place.power == "on" else label


def extra_label(red: str, part: str = "") -> str:
    """The points of an extra reading: `part` end to end, else the pin `red` ("V2.7") to chassis."""
    if part:
        return _("%(part)s, end to end") % {"part": part}
    ref, _dot, pin = red.partition(".")
    return _("%(part)s pin %(pin)s to chassis") % {"part": ref, "pin": pin}


def row_label(where) -> str:
    """A row of a guide, kept as [kind, stage's title, name]; what was kept as a sentence stays one."""
    if isinstance(where, str):
        return where
    kind, stage, name = where
    if kind == "check":
        return _("%(stage)s: %(check)s") % {"stage": stage, "check": name}
    if kind == "step":
        return _("%(stage)s, step %(number)s") % {"stage": stage, "number": name}
    return _("Part %(ref)s") % {"ref": name} if kind == "part" else stage


def pin_label(pin) -> str:
    """What an erratum is about within its stage, kept as [kind, name]; what was kept as a sentence stays one."""
    if isinstance(pin, str):
        return pin
    kind, name = pin
    if kind == "part":
        return _("part %(ref)s") % {"ref": name}
    if kind == "step":
        return _("step %(number)s") % {"number": name}
    return name if kind == "check" else _("the whole stage")
