"""Figures as pages and papers write them: decimal mark by language, a true minus, engineering units, bands.

The one place for it. What is typed, and what the guide file holds, is written by checks.quantity with a point.
"""

import re
from functools import lru_cache

from django.utils.formats import get_format
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from checks.entry import with_unit
from checks.quantity import format_quantity

NOTHING = 1e-9  # of any unit: what arithmetic leaves of nothing
MINUS = "\N{MINUS SIGN}"
_PARTED = re.compile(r"(?<=\d) (?=[pnµmkMG]?(?:V|Ω|A|W|Hz|F|H|dB|°C|%)(?!\w))")


def localised(figure: str) -> str:
    """A figure written with a point and a hyphen, as the reader's language has it: "−0,285 kV"."""
    mark = get_format("DECIMAL_SEPARATOR")
    shown = MINUS + figure[1:] if figure.startswith("-") else figure
    return shown if mark == "." else shown.replace(".", mark, 1)


def format_figure(value: float, unit: str = "", significant: int = 3) -> str:
    """A figure in engineering notation; what is nothing but for rounding is "0 V"."""
    if abs(value) < NOTHING:
        return f"0 {unit}".rstrip()
    return _figure(float(value), unit, significant, get_language())


def on_one_line(figure: str) -> str:
    """A figure that no line break parts from its unit."""
    return figure.replace(" ", "\u00a0")


def keep_figures_whole(text: str) -> str:
    """A sentence in which no line break parts a figure from its unit."""
    return _PARTED.sub("\u00a0", str(text))


def figure_or_text(value, unit: str = ""):
    """As format_figure, for templates: hands back its input when it is no number."""
    try:
        number_ = float(value)
    except (TypeError, ValueError):
        return value
    if abs(number_) < NOTHING:
        return f"0 {unit}".rstrip()
    return _figure(number_, unit, 3, get_language())


@lru_cache(maxsize=4096)
def _figure(value: float, unit: str, significant: int, _language: str | None) -> str:
    return localised(format_quantity(value, unit, significant))


def format_entry(typed: str, unit: str) -> str:
    """What was typed, with its unit and a minus sign of full width: "-12" -> "−12 V"."""
    shown = with_unit(typed, unit)
    return f"\N{MINUS SIGN}{shown[1:]}" if shown.startswith("-") else shown


def number(value: float, decimals: int = 0) -> str:
    """A plain number with so many decimals."""
    rounded = round(value, decimals) + 0.0  # no "-0"
    return localised(f"{rounded:.{decimals}f}")


def short_number(value: float) -> str:
    """A plain number with no more digits than it has: 230, 0.5."""
    return localised(f"{value:g}")


def signed_number(value: float, decimals: int = 0) -> str:
    """A number with its sign; nothing has none."""
    rounded = round(value, decimals)
    if not rounded:
        return number(0.0, decimals)
    return number(rounded, decimals) if rounded < 0 else "+" + number(rounded, decimals)


def percent(share: float, decimals: int = 0) -> str:
    """A share from 0 to 1 as per cent."""
    return f"{number(100 * share, decimals)} %"


def signed_percent(share: float, decimals: int = 0) -> str:
    return f"{signed_number(100 * share, decimals)} %"


def listed(items, alternatives: bool = False) -> str:
    """ "a, b and c", or "a, b or c" for alternatives."""
    *most, last = items
    if not most:
        return str(last)
    params = {"most": ", ".join(map(str, most)), "last": last}
    return (_("%(most)s or %(last)s") if alternatives else _("%(most)s and %(last)s")) % params


def limits_text(low: float | None, high: float | None, unit: str, is_open: bool = False) -> str:
    """A band by its limits; empty where it has none."""
    figures = {name: format_figure(value, unit) for name, value in (("low", low), ("high", high)) if value is not None}
    if is_open and "low" in figures:
        return _("not connected: %(low)s or more") % figures
    if len(figures) == 2:
        return _("%(low)s to %(high)s") % figures
    if "low" in figures:
        return _("at least %(low)s") % figures
    return _("at most %(high)s") % figures if figures else ""


def expected_text(band, unit: str) -> str:
    """The expected figure of a band, or its limits where it has none; empty without a band."""
    if band is None:
        return ""
    if band.expected is not None:
        return format_figure(band.expected, unit)
    return limits_text(band.low, band.high, unit)
