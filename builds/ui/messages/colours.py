"""The colours of resistor bands (IEC 60062), and how they are misread, in the reader's language."""

from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from checks.codes import Slip


def colour_name(name: str) -> str:
    """The colour in words; hands back what is no colour of a band."""
    names = {
        "black": pgettext("band colour", "black"),
        "brown": pgettext("band colour", "brown"),
        "red": pgettext("band colour", "red"),
        "orange": pgettext("band colour", "orange"),
        "yellow": pgettext("band colour", "yellow"),
        "green": pgettext("band colour", "green"),
        "blue": pgettext("band colour", "blue"),
        "violet": pgettext("band colour", "violet"),
        "grey": pgettext("band colour", "grey"),
        "white": pgettext("band colour", "white"),
        "gold": pgettext("band colour", "gold"),
        "silver": pgettext("band colour", "silver"),
        "pink": pgettext("band colour", "pink"),
    }
    return names.get(name, name)


def slip_label(slip: Slip, colours) -> str:
    """How bands were misread, after a wrong value: "red taken for orange"."""
    if slip is Slip.COLOUR:
        colour, other = (colour_name(name) for name in colours)
        return _("%(colour)s read as %(other)s") % {"colour": colour, "other": other}
    return _("multiplier band off by one") if slip is Slip.DECADE else _("read from the wrong end")
