"""Filters and tags every template has: Markdown, engineering figures, outcomes and drawings."""

from django import template
from django.utils.safestring import mark_safe
from django.utils.translation import pgettext

from builds.ui import formatting, rich_text
from builds.ui.drawings.descriptions import caption_socket, describe_scale, describe_socket
from builds.ui.drawings.scale import make_scale
from builds.ui.drawings.scale_marks import figures_on, list_marks
from builds.ui.drawings.socket import find_base, list_pins
from builds.ui.file_names import words_in_name
from builds.ui.formatting import figure_or_text, format_entry, format_figure, number, signed_number
from builds.ui.messages import findings as findings_messages
from builds.ui.messages.outcomes import NOT_READ, STYLES, outcome_label
from builds.ui.shares import format_interval
from checks.errors import ChecksError

register = template.Library()
MAINS_STAYS = 0.05  # an exponent this near to 0 or 1 is told as if it were that


@register.filter
def markdown(text):
    # Cleaned by nh3 in rich_text.to_html, so it is safe to show as it is.
    return mark_safe(rich_text.to_html(text))  # noqa: S308


register.filter("words_of", words_in_name)


@register.filter
def plain(text):
    return rich_text.to_text(text)


register.filter("si", figure_or_text)


register.filter("whole_figures", formatting.keep_figures_whole)


@register.filter
def shown_for(typed, check):
    """What a meter showed at a check, with its unit: "12" is kept as typed and read as "12 V"."""
    return format_entry(typed, "V" if check.through else check.unit)


@register.filter
def get(mapping, key):
    return mapping.get(key)


@register.filter
def percent(share):
    """A share between 0 and 1 as whole per cent; hands back its input when it is no number."""
    try:
        return formatting.percent(float(share))
    except (TypeError, ValueError):
        return share


@register.filter
def figure(value, unit=""):
    """As `si`, but nothing is "0 V" and a minus is a minus."""
    return format_figure(float(value), unit)


@register.filter
def with_mains(exponent):
    """How a reading follows the mains: "in proportion", "does not change", or "to the power 1.5"."""
    power = float(exponent or 0)
    if abs(power) < MAINS_STAYS:
        return pgettext("reading with the mains", "does not change")
    if abs(power - 1) < MAINS_STAYS:
        return pgettext("reading with the mains", "in proportion")
    return pgettext("reading with the mains", "to the power %(power)s") % {"power": number(power, 1)}


@register.filter
def off(deviation):
    """How far from the band's middle (0) to its limit (1), with a sign: "+2.3"."""
    return signed_number(float(deviation), 1)


@register.filter
def spot(point):
    """A probe point as a designer wrote it, without the sign that says it is in words."""
    return str(point).removeprefix("=").strip()


@register.filter
def hundredth(share):
    """A share between 0 and 1 as so many of a hundred."""
    return f"{100 * float(share):.0f}"


@register.filter
def signed_percent(share):
    """A difference of shares as whole per cent with its sign, a true minus, and no sign on nothing."""
    return signed_number(100 * share)


@register.filter
def quoted(text):
    return rich_text.quote(text)


@register.filter
def likely(share):
    """Where a share over many more builds likely lies: "likely 70 to 100 %"; empty where there is nothing to go by."""
    low, high = getattr(share, "low", None), getattr(share, "high", None)
    return "" if low is None or high is None else format_interval(share)


@register.filter
def times(share, size):
    """A fraction of a picture's side as a coordinate."""
    return f"{float(share) * size:.1f}"


@register.filter
def share_of(part, whole):
    """A count as the length of its bar, of 100."""
    return f"{100 * part / whole:.1f}" if whole else "0"


@register.filter
def band_x(number):
    """Where a resistor's colour band number `number` (from 0) is drawn."""
    return 14 + 9 * number


@register.filter
def widths(shift):
    """A deviation in half-bands as band-widths."""
    return findings_messages.band_widths(shift)


@register.filter
def chance(p):
    """How often chance alone would do as much."""
    return findings_messages.percent(p)


@register.filter
def outcome_name(outcome):
    """An outcome in the reader's language: "in band"."""
    return outcome_label(outcome)


@register.filter
def outcome_css(outcome):
    """The class that gives an outcome its colours."""
    return STYLES.get(outcome, NOT_READ).css


register.filter("outcome_label", outcome_label)


@register.inclusion_tag("drawings/_chip.html")
def outcome_chip(outcome):
    style = STYLES.get(outcome, NOT_READ)
    return {"css": style.css, "symbol": style.symbol, "outcome": outcome_label(outcome)}


@register.inclusion_tag("drawings/_scale.html")
def scale(
    low=None,
    high=None,
    value=None,
    u=0.0,
    expected=None,
    stop_above=None,
    stop_below=None,
    unit="V",
    values=None,
    outcome="",
):
    shown = list(values or []) + ([value] if value is not None else [])
    drawn = make_scale(
        low, high, expected=expected, stop_above=stop_above, stop_below=stop_below, values=shown, u=u or 0.0
    )
    figures = figures_on(unit, low=low, high=high, value=value, stop_above=stop_above, stop_below=stop_below)
    return {
        "scale": drawn,
        "marks": list_marks(drawn, figures, value),
        "description": describe_scale(figures, str(outcome_label(outcome)) if outcome else ""),
    }


@register.inclusion_tag("drawings/_socket.html")
def socket(base, red="", black="", ref=""):
    try:
        known = find_base(base)
    except ChecksError:
        return {"base": None}
    red, black = str(red), str(black)
    looks = {red: "pin-red", black: "pin-black"} if red != black else {red: "pin-red"}
    return {
        "base": known,
        "pins": [(pin, looks.get(pin.number, "pin")) for pin in list_pins(base)],
        "red": red,
        "black": black,
        "description": describe_socket(known, ref, red, black),
        "caption": caption_socket(known, ref),
    }
