"""The scale drawing: a band as a thick bar, its limits numbered, readings as needles, the stop limit hatched."""

import math
from dataclasses import dataclass

LEFT, RIGHT = 12.0, 308.0  # of a 320 wide drawing


@dataclass(frozen=True)
class Needle:
    """`left` and `width`: the uncertainty, as drawn."""

    x: float
    left: float
    width: float
    outside: bool  # beyond the drawn scale: shown at its end


@dataclass(frozen=True)
class Scale:
    """Positions along a scale 320 wide. Limits are None where the band is open on that side."""

    start: float
    end: float
    band_x: float
    band_width: float
    low_x: float | None
    high_x: float | None
    expected_x: float | None
    stop_from: float | None
    stop_to: float | None
    stop_low_to: float | None
    needles: tuple[Needle, ...]


def make_scale(low, high, *, expected=None, stop_above=None, stop_below=None, values=(), u=0.0) -> Scale:
    """Lay out a scale that shows the whole band, the stop limit if it is near, and the readings if they are."""
    start, end = _range(low, high, expected, stop_above, stop_below, values)
    span = end - start

    by = (RIGHT - LEFT) / span
    low_x, high_x, expected_x, stop_from, stop_low = [  # at their places; None beyond the ends
        None if v is None or not start <= v <= end else LEFT + by * (v - start)
        for v in (low, high, expected, stop_above, stop_below)
    ]
    left, right = low_x or LEFT, high_x or RIGHT
    needles = tuple(
        [
            _needle(LEFT + by * (v - start), by * u, not start <= v <= end)
            for v in values
            if v is not None and math.isfinite(v)
        ]
    )
    return Scale(
        start,
        end,
        left,
        max(1.0, right - left),
        low_x,
        high_x,
        expected_x,
        stop_from,
        RIGHT if stop_from is not None else None,
        stop_low,
        needles,
    )


def _needle(place: float, half_width: float, outside: bool) -> Needle:
    """Its width ends where the line does, the same on both sides."""
    place = min(RIGHT, max(LEFT, place))
    half_width = max(0.8, min(half_width, place, LEFT + RIGHT - place))
    return Needle(place, place - half_width, 2 * half_width, outside)


def _range(low, high, expected, stop_above, stop_below, values) -> tuple[float, float]:
    """Choose the ends: the band takes the middle half; near stop limits and readings stretch it."""
    if low is None and high is None:
        low = high = expected if expected is not None else 0.0
    if low is None:
        low = min(0.0, high)
    if high is None:
        high = low + (abs(low) or 1.0)
    half = (high - low) / 2 or abs(high) * 0.1 or 1.0
    start, end = low - half, high + half
    reach = 6 * half
    for v in (*values, stop_above, stop_below):
        if v is not None and math.isfinite(v) and low - reach <= v <= high + reach:
            start, end = min(start, v - half / 4), max(end, v + half / 4)
    if low >= 0:
        start = max(start, -half / 4) if low > 0 else start
    return start, end
