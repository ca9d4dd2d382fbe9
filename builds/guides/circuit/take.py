"""Taking the model's figure into a check of a draft."""
import math
from dataclasses import dataclass

from builds.guides.circuit.stored import figure_of
from checks.quantity import format_quantity

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
    check.low, check.high = (format_quantity(_outward(figure[k], way), unit) for k, way in (("low", math.floor), ("high", math.ceil)))
    check.save()
    return Said(True, f"{check.title}: {check.expected}, from {check.low} to {check.high}, taken from the circuit model.")


def _outward(value: float, way) -> float:
    if not value:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(abs(value))) - 2)
    return way(value / step) * step


def _none() -> Said:
    return Said(False, "The model has no figure for this check yet. Open the circuit page, and see what it says there.")
