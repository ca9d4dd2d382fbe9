"""A strip plot: every build's reading as a needle on the band, stacked where they meet."""

from dataclasses import dataclass

from builds.ui.drawings import scale as narrow
from builds.ui.drawings.scale import make_scale

LEFT, RIGHT = 16.0, 544.0  # of a drawing 560 wide
APART, STEP, TALLEST = 6, 16, 240  # between needles beside and above each other; the highest stack
NEAR_END = 90  # of an end of the drawing, where a figure is written away from it
GAP = 3  # between a needle and the one above it
FOOT, HEAD = 30, 24  # below the line, for the limits' figures; above the needles, for the figures of the outermost


@dataclass(frozen=True)
class Needle:
    x: float
    y: float  # its foot
    top: float
    last: bool  # the build's last attempt: solid; an earlier one is broken
    label: str


@dataclass(frozen=True)
class OutermostReading:
    """The outermost last reading beyond a limit, with its figure above it; `beyond`: -1 or 1 where it lies past that
    end of the drawing, so that an arrow says so. `next` is the next of those that lie past the same end, where all
    are drawn on one another, `more` how many there are besides."""

    x: float
    value: float
    beyond: int = 0
    next: float | None = None
    more: int = 0

    @property
    def anchor(self) -> str:
        """How its text stands to its place."""
        return "start" if self.x < LEFT + NEAR_END else "end" if self.x > RIGHT - NEAR_END else "middle"

    @property
    def arrow_left(self) -> str:
        return "← " if self.beyond < 0 else ""

    @property
    def arrow_right(self) -> str:
        return " →" if self.beyond > 0 else ""


@dataclass(frozen=True)
class Strip:
    """Positions of a drawing 560 wide and `height` high; `line` is where the scale stands. Limits are None where
    open."""

    band_x: float
    band_width: float
    low_x: float | None
    high_x: float | None
    expected_x: float | None
    stop_from: float | None
    stop_low_to: float | None
    needles: tuple[Needle, ...]
    far: tuple[OutermostReading, ...]
    height: float

    @property
    def line(self) -> float:
        return self.height - FOOT

    @property
    def top(self) -> float:
        return HEAD

    @property
    def room(self) -> float:
        """How high the band is drawn."""
        return self.line - HEAD

    @property
    def label_y(self) -> float:
        """Where the limits' figures stand."""
        return self.height - 10

    @property
    def stop_width(self) -> float:
        return RIGHT - (self.stop_from or RIGHT)


def strip(band, readings) -> Strip:
    """`readings`: (value at the guide's mains, is the last attempt, label). Needles closer than 6 are stacked."""
    low, high = (band.low, band.high) if band else (None, None)
    scale = make_scale(
        low,
        high,
        expected=band.expected if band else None,
        stop_above=band.stop_above if band else None,
        stop_below=band.stop_below if band else None,
        values=[v for v, _last, _label in readings],
    )

    def x(value):
        return min(RIGHT, max(LEFT, LEFT + (RIGHT - LEFT) * (value - scale.start) / (scale.end - scale.start)))

    placed, levels = _stacked(sorted(readings, key=lambda r: r[0]), x)
    step = min(STEP, TALLEST / max(1, levels))  # hundreds of builds are drawn closer, not higher
    line = HEAD + 8 + step * max(2, levels)
    needles = tuple(
        Needle(at, line - 4 - step * level, line - 4 - step * level - max(1.5, step - GAP), last, label)
        for at, level, last, label in placed
    )
    band_x = _wide(scale.band_x)
    return Strip(
        band_x,
        _wide(scale.band_x + scale.band_width) - band_x,
        _wide_or_none(scale.low_x),
        _wide_or_none(scale.high_x),
        _wide_or_none(scale.expected_x),
        _wide_or_none(scale.stop_from),
        _wide_or_none(scale.stop_low_to),
        needles,
        _far(readings, low, high, x, scale),
        line + FOOT,
    )


def _wide(at: float) -> float:
    """A place on the narrow scale as one on this drawing."""
    return LEFT + (at - narrow.LEFT) * (RIGHT - LEFT) / (narrow.RIGHT - narrow.LEFT)


def _wide_or_none(at: float | None) -> float | None:
    return None if at is None else _wide(at)


def _stacked(readings, x) -> tuple[list, int]:
    """([(x, level, is last, label)], levels): each needle on the lowest level that is free there. From left to
    right."""
    placed: list[tuple] = []
    ends: list[float] = []  # of each level, where its last needle is
    for value, last, label in readings:
        at = x(value)
        level = next((n for n, end in enumerate(ends) if at - end >= APART), len(ends))
        ends[level : level + 1] = [at]
        placed.append((at, level, last, label))
    return placed, len(ends)


def _far(readings, low, high, x, scale) -> tuple[OutermostReading, ...]:
    lasting = [value for value, last, _label in readings if last]
    below = [v for v in lasting if low is not None and v < low]
    above = [v for v in lasting if high is not None and v > high]
    return tuple(_outermost(side, x, scale) for side in (sorted(below), sorted(above, reverse=True)) if side)


def _outermost(side: list[float], x, scale) -> OutermostReading:
    """Of last readings beyond one limit, the furthest first."""
    value = side[0]
    beyond = (value > scale.end) - (value < scale.start)
    past = [v for v in side[1:] if beyond and (v > scale.end if beyond > 0 else v < scale.start)]
    return OutermostReading(x(value), value, beyond, past[0] if past else None, max(0, len(past) - 1))
