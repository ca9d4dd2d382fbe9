"""A check's strip plot: every reading on the band, one lane for first attempts and one for the latest."""
from dataclasses import dataclass
from math import isfinite

from builds.bench.models import Reading
from checks.band import Band

WIDTH, LEFT, RIGHT = 640.0, 20.0, 620.0
LANES = 7  # dots side by side before they are drawn over one another
STEP = 5.0


@dataclass(frozen=True)
class Mark:
    x: float
    y: float
    shape: str  # "first" (ring) or "last" (diamond)
    reading: Reading

    @property
    def diamond(self) -> str:
        return f"M{self.x:.1f} {self.y - 5:.1f}l5 5l-5 5l-5 -5z"


@dataclass(frozen=True)
class Strip:
    """Positions on a drawing 640 wide and 150 high; None where a limit is open or off the drawing."""

    marks: tuple[Mark, ...]
    low_x: float | None
    high_x: float | None
    expected_x: float | None
    start: float
    end: float

    @property
    def band_x(self) -> float:
        return LEFT if self.low_x is None else self.low_x

    @property
    def band_width(self) -> float:
        return max(1.0, (RIGHT if self.high_x is None else self.high_x) - self.band_x)


def make_strip(readings: list[Reading], band: Band | None) -> Strip | None:
    """Lay out the readings by their mains-corrected value; None when not one of them has a number.

    An attempt that is neither a build's first nor its latest is left to the table.
    """
    counted = [r for r in readings if r.at_reference is not None and isfinite(r.at_reference)]
    if not counted:
        return None
    start, end = _ends([r.at_reference for r in counted], band)

    def x(value):
        return None if value is None else LEFT + (RIGHT - LEFT) * (value - start) / (end - start)

    latest = {r.build_id: r.pk for r in sorted(counted, key=lambda r: r.attempt)}
    firsts = [r for r in counted if r.attempt == 1]
    retakes = [r for r in counted if r.attempt > 1 and latest[r.build_id] == r.pk]
    marks = (*_lane(firsts, x, 45.0, "first"), *_lane(retakes, x, 105.0, "last"))
    return Strip(marks, x(band.low) if band else None, x(band.high) if band else None,
                 x(band.expected) if band else None, start, end)


def _ends(values: list[float], band: Band | None) -> tuple[float, float]:
    limits = [v for v in ((band.low, band.high, band.expected) if band else ()) if v is not None]
    low, high = min(values + limits), max(values + limits)
    room = (high - low) * 0.06 or abs(high) * 0.1 or 1.0
    return low - room, high + room


def _lane(readings: list[Reading], x, middle: float, shape: str) -> list[Mark]:
    """Readings that fall together are stacked about the lane's middle."""
    taken: dict[int, int] = {}
    marks = []
    for reading in readings:
        at = x(reading.at_reference)
        n = taken[round(at / 8)] = taken.get(round(at / 8), -1) + 1
        offset = ((n % LANES) + 1) // 2 * (1 if n % 2 else -1)
        marks.append(Mark(at, middle + offset * STEP, shape, reading))
    return marks
