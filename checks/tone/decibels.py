"""Levels and ratios in decibels, kept apart from volts by name."""

import math

from checks.errors import ChecksError
from checks.finite import real_arguments


def decibels(ratio: float) -> float:
    """20 lg of a ratio of volts. Raises ChecksError for a ratio that is not above zero."""
    if not (math.isfinite(ratio) and ratio > 0):
        raise ChecksError("A ratio in decibels lies above zero.", argument="ratio", code="ratio")
    return 20 * math.log10(ratio)


@real_arguments
def power_decibels(ratio: float) -> float:
    """10 lg of a ratio of powers or mean squares, -inf for none."""
    return 10 * math.log10(ratio) if ratio > 0 else -math.inf
