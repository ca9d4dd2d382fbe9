"""What a verdict says to the builder: one sentence or two, by the reason it was given for."""

from django.utils.translation import gettext as _

from builds.ui.formatting import format_figure, number
from checks.outcomes import Reason

USUAL_DIGITS, MOST_DIGITS = 3, 8


def verdict_text(reason: str, params: dict, unit: str, confirms: bool = False) -> str:
    """`reason` and `params` as a reading's row keeps them (checks.verdict.Verdict). Empty for a row without them."""
    if not reason:
        return ""
    text = finding_text(reason, params, unit)
    order = _order(Reason(reason), confirms)
    return f"{text} {order}" if order else text


def finding_text(reason: str, params: dict, unit: str) -> str:
    """What was found, without what to do: for pages that say that themselves."""
    make = _FINDINGS.get(Reason(reason)) if reason else None
    text = make() if make else ""
    text = text % _figures(params, unit) if "%" in text else text
    return f"{text} {_judged_again(params)}" if params.get("judged_again") else text


def _judged_again(params: dict) -> str:
    if params.get("withdrawn"):
        return _(
            "It was judged by corrected figures that have been withdrawn since. The stop holds until "
            "the check reads in band."
        )
    return _("The guide’s figures were corrected after this reading was taken, and it was judged again.")


def _figures(params: dict, unit: str) -> dict:
    value, limit, u = params.get("value"), params.get("limit"), params.get("u")
    digits = _telling_apart(value, limit, unit)
    return {
        "value": "" if value is None else format_figure(value, unit, digits),
        "limit": _("the limit") if limit is None else format_figure(limit, unit, digits),
        "width": format_figure(2 * u, unit, 2) if u else "",
        "share": f"\N{NO-BREAK SPACE}({number(200 * u / abs(value), 1)}\N{NO-BREAK SPACE}%)" if u and value else "",
    }


def _telling_apart(value: float | None, limit: float | None, unit: str) -> int:
    """How many digits show that a value is not its limit: “500 V is above 500 V” is not believed."""
    if value is None or limit is None:
        return USUAL_DIGITS
    apart = (
        n for n in range(USUAL_DIGITS, MOST_DIGITS) if format_figure(value, unit, n) != format_figure(limit, unit, n)
    )
    return next(apart, USUAL_DIGITS)


_FINDINGS = {
    Reason.WITHIN: lambda: _("This is right."),
    Reason.NO_FIGURE: lambda: _("Saved. The guide has no figure here yet; your reading helps to set it."),
    Reason.NOT_CONNECTED: lambda: _("Not connected, as it should be."),
    Reason.OVER_RANGE_WANTED: lambda: _("Over range, as it should be: more than the meter can show."),
    Reason.CLOSE: lambda: _("Your meter’s ±%(width)s%(share)s cannot tell %(value)s from the limit, %(limit)s."),
    Reason.CLOSE_BY_DIGITS: lambda: _(
        "Your meter’s ±%(width)s%(share)s cannot tell %(value)s from the limit, %(limit)s. Most of that is its last "
        "digits."
    ),
    Reason.CLOSE_BY_LOAD: lambda: _(
        "Your meter’s ±%(width)s%(share)s cannot tell %(value)s from the limit, %(limit)s. Most of that is its own "
        "load on this point."
    ),
    Reason.CLOSE_BY_FREQUENCY: lambda: _(
        "Your meter’s ±%(width)s%(share)s cannot tell %(value)s from the limit, %(limit)s. Most of that is "
        "because its manual does not specify AC volts at this frequency."
    ),
    Reason.CLOSE_BY_RANGE: lambda: _(
        "%(value)s is right only if your meter was on its lowest possible range. On a higher range it loads this "
        "point less, and the same reading is past the limit, %(limit)s."
    ),
    Reason.HARDLY_CONNECTED: lambda: _(
        "%(value)s: too close to call. At %(limit)s or more, the points count as not connected."
    ),
    Reason.HIGH: lambda: _("Too high: %(value)s. The upper limit is %(limit)s."),
    Reason.LOW: lambda: _("Too low: %(value)s. The lower limit is %(limit)s."),
    Reason.CONNECTED: lambda: _(
        "These points are connected through %(value)s. They must not be: at least %(limit)s is required."
    ),
    Reason.OVER_RANGE: lambda: _("Over range: more than the meter can show on this range."),
    Reason.BELOW_RANGE: lambda: _("Over range below zero."),
    Reason.STOP_ABOVE: lambda: _("%(value)s is above the stop limit of %(limit)s."),
    Reason.STOP_BELOW: lambda: _("%(value)s is below the stop limit of %(limit)s."),
    Reason.STOP_SWAPPED: lambda: _(
        "%(value)s is past the stop limit of %(limit)s, whichever way round the probes are."
    ),
    Reason.STOP_OVER_RANGE: lambda: _("Your meter is over range. Above %(limit)s, this kit must be off."),
    Reason.STOP_BELOW_RANGE: lambda: _("Your meter is over range below zero. Past %(limit)s, this kit must be off."),
}
STOPS = (
    Reason.STOP_ABOVE,
    Reason.STOP_BELOW,
    Reason.STOP_SWAPPED,
    Reason.STOP_OVER_RANGE,
    Reason.STOP_BELOW_RANGE,
)
GOES_ON = (Reason.WITHIN, Reason.NOT_CONNECTED, Reason.OVER_RANGE_WANTED)
CLOSE = (
    Reason.CLOSE,
    Reason.CLOSE_BY_DIGITS,
    Reason.CLOSE_BY_LOAD,
    Reason.CLOSE_BY_RANGE,
    Reason.CLOSE_BY_FREQUENCY,
)


def _order(reason: Reason, confirms: bool) -> str:
    if reason in STOPS:
        return _("Switch off, unplug, and make it safe before anything else.")
    if reason in GOES_ON:
        return _("Continue.")
    if reason in CLOSE:
        return _close_order(reason, confirms)
    make = _ORDERS.get(reason)
    return make() if make else ""


def _close_order(reason: Reason, confirms: bool) -> str:
    if reason is Reason.CLOSE_BY_FREQUENCY and not confirms:
        return _(
            "Measure again with a meter whose manual specifies AC volts up to this frequency. If yours does and "
            "this site does not know it, correct your meter’s figures first."
        )
    if reason is Reason.CLOSE_BY_RANGE:
        return _("Measure again with a digital meter, and choose that meter for this build first.")
    if not confirms:
        return _("Type every digit that the meter shows: without them this check cannot pass.")
    if reason is Reason.CLOSE_BY_DIGITS:
        return _(
            "Measure again, on a lower range if there is one, and type every digit. A second reading within the limits "
            "passes."
        )
    return _("Measure again, on a better range if there is one. A second reading within the limits passes.")


_ORDERS = {
    Reason.HARDLY_CONNECTED: lambda: _("Take your fingers off the probes and read again."),
    Reason.HIGH: lambda: _("Check the probe points and the meter’s range first."),
    Reason.LOW: lambda: _("Check the probe points and the meter’s range first."),
    Reason.CONNECTED: lambda: _("Look for a bridge of solder, a stray strand or a part in the wrong holes."),
    Reason.OVER_RANGE: lambda: _("Check the meter’s range and the probe points, then measure again."),
    Reason.BELOW_RANGE: lambda: _(
        "Check that the probes are the right way round, choose a higher range, and measure again."
    ),
}
