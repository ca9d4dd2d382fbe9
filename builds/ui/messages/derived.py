"""What follows from several readings, in words: currents and dissipations against the valve's limits."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from builds.ui.formatting import format_figure, listed
from checks.derived import HEATER_VOLTS, Derived, LimitOutcome, Quantity

_LABELS = {
    Quantity.CATHODE_CURRENT: lambda: pgettext("valve", "cathode current"),
    Quantity.ANODE_DISSIPATION: lambda: pgettext("valve", "anode dissipation"),
    Quantity.SCREEN_DISSIPATION: lambda: pgettext("valve", "screen dissipation"),
    Quantity.HEATER_CURRENT: lambda: pgettext("valve", "heater current"),
    Quantity.HEATER_POWER: lambda: pgettext("valve", "heater power"),
}
# IEC 60134:1961, in our words: what each rating system's limit is compared with.
RATING_SYSTEMS = {
    "design centre": lambda: _(
        "This is a design-centre limit: it is judged at the guide’s own mains voltage and allows "
        "for normal variation of the mains and of parts."
    ),
    "design maximum": lambda: _(
        "This is a design-maximum limit: it applies at your mains voltage, to a valve of average characteristics."
    ),
    "maker maximum": lambda: _(
        "This is the maker’s maximum; the maker names no rating system. Do not exceed it at your mains voltage."
    ),
    "absolute maximum": lambda: _("This is an absolute limit: never exceed it, whatever the mains voltage."),
}


def derived_label(row: Derived) -> str:
    """ "anode dissipation", with the system of a double valve: "cathode current, a"."""
    label = _LABELS[row.what]()
    return _("%(quantity)s, %(section)s") % {"quantity": label, "section": row.section} if row.section else label


def derived_text(row: Derived) -> str:
    """The figure with its uncertainty, and how it lies to its limit."""
    text = _figure(row)
    make = _AGAINST.get(row.outcome)
    if make is None or row.limit is None:
        return text
    against = make() % {"limit": format_figure(row.limit, row.unit)}
    if row.outcome is LimitOutcome.CANNOT_TELL:
        return f"{text} {against}"
    return f"{text} {against} {RATING_SYSTEMS.get(row.system, RATING_SYSTEMS['maker maximum'])()}"


def _figure(row: Derived) -> str:
    params = {
        "ref": row.ref,
        "quantity": derived_label(row),
        "value": format_figure(row.value, row.unit),
        "width": format_figure(2 * row.u, row.unit, 2),
    }
    if row.at_most:
        return _("%(ref)s %(quantity)s: at most %(value)s ± %(width)s.") % params
    return _("%(ref)s %(quantity)s: %(value)s ± %(width)s.") % params


_AGAINST = {
    LimitOutcome.WITHIN: lambda: _("It is within the limit of %(limit)s."),
    LimitOutcome.OVER: lambda: _("It is over the limit of %(limit)s."),
    LimitOutcome.TOO_CLOSE: lambda: _("It is too close to the limit of %(limit)s to call."),
    LimitOutcome.CANNOT_TELL: lambda: _(
        "The limit is %(limit)s. Some of this current goes to the screen, so the anode has less; these readings cannot "
        "tell how much."
    ),
}


def socket_source(ref: str, pins: list[str]) -> str:
    """Where readings were taken: "V2 pins 7 and 3"."""
    text = ngettext("%(ref)s pin %(pins)s", "%(ref)s pins %(pins)s", len(pins))
    return text % {"ref": ref, "pins": listed(pins)}


def other_source(label: str) -> str:
    return _("heater volts") if label == HEATER_VOLTS else label
