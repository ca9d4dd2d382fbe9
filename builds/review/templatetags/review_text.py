"""Short texts of the designer's pages."""

from django import template
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from builds.review.changes.targets import make_label
from builds.ui.formatting import number

register = template.Library()
SERIALS = 12  # named before the rest is counted
SMALLEST_P = 0.001
LARGEST_SHIFT = 99


@register.filter
def p_value(p) -> str:
    """A probability of chance, to three places: "< 0.001" below that."""
    return f"< {number(SMALLEST_P, 3)}" if p < SMALLEST_P else number(p, 3)


@register.filter
def capped(shift) -> str:
    """A shift as a whole number; beyond 99 nobody asks how far."""
    return f"> {LARGEST_SHIFT}" if shift > LARGEST_SHIFT else number(shift)


@register.filter
def first_serials(builds) -> str:
    """The serial numbers of some builds: the first by name, the rest counted."""
    serials = [build.serial for build in builds]
    shown, more = ", ".join(serials[:SERIALS]), len(serials) - SERIALS
    if more <= 0:
        return shown
    return ngettext("%(serials)s and %(n)s more", "%(serials)s and %(n)s more", more) % {"serials": shown, "n": more}


@register.filter
def snag_place(snag) -> str:
    """What a snag is about: its check, step or part, else its stage."""
    row = snag.check_row or snag.step
    if snag.part and not row:
        return _("%(stage)s, part %(ref)s") % {"stage": snag.stage.title, "ref": snag.part.ref}
    return make_label(row or snag.stage)
