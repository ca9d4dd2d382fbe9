"""The names of a part's terminals."""

from django.utils.translation import gettext as _


def terminal_label(name: str) -> str:
    """A terminal as the trade writes it: "drain", "plus input"; of a twin valve, "grid a" is its grid, then its
    section."""
    names = {
        "anode": _("anode"),
        "cathode": _("cathode"),
        "grid": _("grid"),
        "heater": _("heater"),
        "heater centre": _("heater centre"),
        "screen": _("screen"),
        "suppressor": _("suppressor grid"),
        "gate": _("gate"),
        "drain": _("drain"),
        "source": _("source"),
        "base": _("base"),
        "collector": _("collector"),
        "emitter": _("emitter"),
        "input": _("input"),
        "output": _("output"),
        "common": _("common"),
        "plus input": _("non-inverting input"),
        "minus input": _("inverting input"),
        "plus supply": _("positive supply"),
        "minus supply": _("negative supply"),
    }
    plain = name.replace("_", " ")
    first, _space, section = plain.rpartition(" ")
    return names.get(plain) or (f"{names[first]} {section}" if first in names else plain)
