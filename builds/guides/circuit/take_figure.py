"""Taking the model's figure into a check of a draft."""

import math
from dataclasses import dataclass

from django.utils.translation import gettext as _

from builds.guides.circuit.stored import find_figure
from builds.guides.figures import designers_band, load_factor, model_limits, stop_figure
from builds.ui.messages.errors import message_for
from checks.errors import ChecksError
from checks.quantity import format_quantity, parse_quantity

CLEARED = ("band", "low", "high", "at_least", "at_most")


@dataclass(frozen=True)
class Taken:
    """What became of it, as a sentence."""

    is_done: bool
    sentence: str


def shown_version(check_version: str, figures) -> str:
    """Of a check and the circuit's figures beside it, as a page shows them. Never empty, as an absent one is."""
    return f"{check_version}.{figures.key if figures else ''}"


def as_model(check) -> Taken:
    """Leave figure and band to the model; the stop limits stay."""
    if not find_figure(check):
        return _none()
    _drop_meter(check)
    check.expected, check.figure_from = "model", "model"
    for name in CLEARED:
        setattr(check, name, "")
    check.save()
    return Taken(True, _("%(check)s now takes its figure from the circuit model.") % {"check": check.title})


def _drop_meter(check) -> None:
    """The circuit's figures are without a meter: so are the stop limits that stay beside them."""
    factor = load_factor(check)
    for name in ("stop_below", "stop_above"):
        limit = stop_figure(getattr(check, name), check.unit)
        if limit is not None and factor != 1:
            setattr(check, name, format_quantity(limit * factor, check.unit, 4))
    check.read_with = None


def as_numbers(check) -> Taken:
    """Write the model's figure and its 95 % band down as numbers, rounded outward to three figures."""
    figure = find_figure(check)
    if not figure:
        return _none()
    unit = check.unit
    _drop_meter(check)
    for name in CLEARED:
        setattr(check, name, "")
    check.expected, check.figure_from = format_quantity(figure["value"], unit), "model"
    low, high = model_limits(figure, unit)
    check.low, check.high = (
        format_quantity(round_outward(low, math.floor), unit),
        format_quantity(round_outward(high, math.ceil), unit),
    )
    check.save()
    sentence = _("%(check)s: %(expected)s, from %(low)s to %(high)s, taken from the circuit model.")
    figures = {"check": check.title, "expected": check.expected, "low": check.low, "high": check.high}
    return Taken(True, sentence % figures)


def as_prototype(check) -> Taken:
    """Expect what the prototype read. A band in limits of its own stays; one about the figure moves with it."""
    if not check.prototype:
        return Taken(False, _("This check has no reading of the prototype. Enter it first."))
    figure, is_left_to_model = find_figure(check), check.expected.strip().lower() == "model"
    check.expected, check.figure_from = check.prototype, "prototype"
    has_own_limits = any(getattr(check, name) for name in CLEARED)
    read = parse_quantity(check.prototype, check.unit).value
    if is_left_to_model and figure and read is not None and not has_own_limits:  # the model's band is widened to it
        low, high = model_limits(figure, check.unit)
        check.low = format_quantity(round_outward(min(low, read), math.floor), check.unit)
        check.high = format_quantity(round_outward(max(high, read), math.ceil), check.unit)
    try:
        designers_band(check)
    except ChecksError as error:
        return Taken(
            False, _("The prototype’s figure does not suit the band: %(error)s") % {"error": message_for(error)}
        )
    check.save()
    sentence = _("%(check)s now expects %(expected)s, as the prototype read.")
    return Taken(True, sentence % {"check": check.title, "expected": check.expected})


def round_outward(value: float, way) -> float:
    if not value:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(abs(value))) - 2)
    return way(value / step) * step


def _none() -> Taken:
    return Taken(False, _("The model has no figure for this check yet. Open the circuit figures to see why."))
