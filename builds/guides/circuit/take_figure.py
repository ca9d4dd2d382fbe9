"""Taking the model's figure into a check of a draft."""

import math
from dataclasses import dataclass

from builds.guides.circuit.stored import figure_of
from builds.guides.figures import designers_band, model_limits
from checks.errors import ChecksError
from checks.quantity import format_quantity, parse_quantity

CLEARED = ("band", "low", "high", "at_least", "at_most")


@dataclass(frozen=True)
class Said:
    done: bool
    words: str


def as_model(check) -> Said:
    """Leave figure and band to the model; the stop limits stay."""
    if not figure_of(check):
        return _none()
    check.expected, check.figure_from = "model", "model"
    for name in CLEARED:
        setattr(check, name, "")
    check.save()
    return Said(True, f"{check.title} is left to the circuit model.")


def as_numbers(check) -> Said:
    """Write the model's figure and its 95 % band down as numbers, rounded outward to three figures."""
    figure = figure_of(check)
    if not figure:
        return _none()
    unit = check.unit
    for name in CLEARED:
        setattr(check, name, "")
    check.expected, check.figure_from = format_quantity(figure["value"], unit), "model"
    low, high = model_limits(figure, unit)
    check.low, check.high = (
        format_quantity(_outward(low, math.floor), unit),
        format_quantity(_outward(high, math.ceil), unit),
    )
    check.save()
    return Said(
        True, f"{check.title}: {check.expected}, from {check.low} to {check.high}, taken from the circuit model."
    )


def as_prototype(check) -> Said:
    """Expect what the prototype read. A band in limits of its own stays; one about the figure moves with it."""
    if not check.prototype:
        return Said(False, "This check says nothing of what the prototype read. Write that down first.")
    figure, left = figure_of(check), check.expected.strip().lower() == "model"
    check.expected, check.figure_from = check.prototype, "prototype"
    if left and not any(getattr(check, name) for name in CLEARED) and figure:  # the model's band is widened to hold it
        read = parse_quantity(check.prototype, check.unit).value
        low, high = model_limits(figure, check.unit)
        check.low = format_quantity(_outward(min(low, read), math.floor), check.unit)
        check.high = format_quantity(_outward(max(high, read), math.ceil), check.unit)
    try:
        designers_band(check)
    except ChecksError as error:
        return Said(False, f"The prototype's figure does not suit the band: {error}")
    check.save()
    return Said(True, f"{check.title} now expects {check.expected}, as the prototype read.")


def _outward(value: float, way) -> float:
    if not value:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(abs(value))) - 2)
    return way(value / step) * step


def _none() -> Said:
    return Said(False, "The model has no figure for this check yet. Open the circuit page, and see what it says there.")
