"""Readings on a scale where both volts near zero and megohms can be compared: asinh of the reading over a small unit.

Near the unit the scale is linear, far above it logarithmic. Each check's unit is a fiftieth of what a healthy kit reads
there, and no less than what a meter can tell from zero. Where good kits read about nothing, their scatter is in volts,
and the scale is linear well beyond it: on a logarithmic one a grid that a leak lifts would seem near.
"""

import numpy as np

from checks.finite import finite_arguments

SMALLEST = {"V": 0.1, "Ω": 2.0, "A": 5e-5}  # near zero: leads, offsets, a little grid current (common practice)
SIGNAL_UNIT = 1e-3  # V of a signal or ripple
PART = 0.02
OFFSET = 0.15  # of the unit: standard deviation of offsets and leads, which count near zero
FLOOR = 1e-4  # variance on the scale that every reading has
RANGE = 14.0  # width of the scale over which a slip or an unknown fault may put a reading
LINEAR = 10.0  # standard deviations of good kits, up to which the scale is linear where they read about nothing
ABOUT_NOTHING = 0.25  # of a reading: what good kits scatter by beyond that is no share of it
OPEN_OHMS = 4e7  # more than this reads open on any meter


@finite_arguments
def find_unit(nominal: float, si_unit: str) -> float:
    return max(SMALLEST[si_unit], PART * abs(nominal))


def linear_about_nothing(units, nominal, deviation):
    """`units` (n,) that are wide enough for good kits which read `nominal` with this `deviation`, all in SI."""
    return np.maximum(units, LINEAR * np.maximum(deviation - ABOUT_NOTHING * np.abs(nominal), 0.0))


def to_scale(values, units):
    return np.arcsinh(np.asarray(values) / units)


def from_scale(values, units):
    return np.sinh(np.asarray(values)) * units


def slope(values, units):
    """d(scale)/d(value)."""
    return 1.0 / np.hypot(np.asarray(values), units)


def nothing_below(unit: str) -> float:
    """What is less than this in size is nothing to a meter: half of what it can tell from zero."""
    return 0.5 * SMALLEST.get(unit, 0.0)
