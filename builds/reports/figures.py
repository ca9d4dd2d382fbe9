"""Figures and bands as every paper writes them."""

from django.utils.translation import gettext as _

from builds.guides.row_labels import limits_text
from builds.ui.formatting import format_figure


def format_limits(low, high, unit) -> str:
    """A band: both limits, or at least, or at most; a dash without any."""
    if low is not None and high is not None:
        return limits_text(format_figure(low, unit), format_figure(high, unit))
    if low is not None:
        return _("at least %(limit)s") % {"limit": format_figure(low, unit)}
    return _("at most %(limit)s") % {"limit": format_figure(high, unit)} if high is not None else "–"


def format_band(band, unit) -> str:
    """The guide's figure and band; a dash where it gives none."""
    if band is None:
        return "–"
    limits = format_limits(band.low, band.high, unit)
    if band.expected is None:
        return limits
    names = {"expected": format_figure(band.expected, unit), "limits": limits}
    return _("%(expected)s, band %(limits)s") % names
