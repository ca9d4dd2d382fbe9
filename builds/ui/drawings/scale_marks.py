"""What is written and hatched on the scale drawing: figures under their ticks that never run into each other, stops
with their number, and each needle with its value."""

from dataclasses import dataclass

from builds.ui.drawings.scale import LEFT, RIGHT, Scale
from builds.ui.formatting import format_figure

WIDTH, LETTER, SPACE = 320.0, 8.6, 10.0  # of the drawing; of a letter at 15 px; between two figures
TOP, LIMITS, STOPS, LINE = (
    14.0,
    64.0,
    82.0,
    18.0,
)  # baselines: the needle's value, the limits, the stop limits; from line to line
BAR = (26.0, 50.0)  # top and bottom of what is hatched


@dataclass(frozen=True)
class Mark:
    x: float
    y: float
    text: str


@dataclass(frozen=True)
class Marks:
    """`hatched`: (x, width, path of the hatching) of each stop; `height` of the whole drawing."""

    marks: tuple[Mark, ...]
    hatched: tuple[tuple[float, float, str], ...]
    height: float


def marks_of(scale: Scale, unit: str, *, low=None, high=None, stop_above=None, stop_below=None, value=None) -> Marks:
    """The marks of one scale. A stop beyond the drawn range is hatched past the end of the line, with an arrow."""
    limits = _row(
        [(x, format_figure(v, unit)) for x, v in ((scale.low_x, low), (scale.high_x, high)) if x is not None], LIMITS
    )
    hatched, stops = [], []
    if stop_below is not None:
        edge = scale.stop_low_to
        hatched.append(_hatch(0.0, edge if edge is not None else LEFT - 2))
        stops.append((edge or LEFT, f"{'' if edge is not None else '← '}off below {format_figure(stop_below, unit)}"))
    if stop_above is not None:
        edge = scale.stop_from
        hatched.append(_hatch(edge if edge is not None else RIGHT + 2, WIDTH))
        stops.append((edge or RIGHT, f"off above {format_figure(stop_above, unit)}{'' if edge is not None else ' →'}"))
    needles = (
        _row([(scale.needles[-1].x, _value(scale, unit, value))], TOP) if value is not None and scale.needles else []
    )
    lines = [stops] if _fit(stops) else [[stop] for stop in stops]
    below = [mark for n, line in enumerate(lines) for mark in _row(line, STOPS + n * LINE)]
    return Marks(
        (*limits, *below, *needles), tuple(hatched), STOPS + LINE * (len(lines) - 1) + 6 if stops else LIMITS + 6
    )


def _fit(figures) -> bool:
    """Do these stand on one line?"""
    return sum(LETTER * len(text) + SPACE for _x, text in figures) <= WIDTH + SPACE


def _value(scale: Scale, unit: str, value: float) -> str:
    words = format_figure(value, unit)
    return f"{words} →" if value > scale.end else f"← {words}" if value < scale.start else words


def _hatch(start: float, end: float) -> tuple[float, float, str]:
    """Diagonal strokes 6 apart, cut off at the right edge."""
    top, bottom = BAR
    strokes = []
    for n in range(int((end - start) / 6) + 1):
        x = start + 6 * n
        reach = min(end, x + 8.0)
        strokes.append(f"M{x:.1f} {bottom:.1f} L{reach:.1f} {bottom - (bottom - top) * (reach - x) / 8.0:.1f}")
    return start, max(0.0, end - start), " ".join(strokes)


def _row(figures, y: float) -> list[Mark]:
    """Figures centred under their places, pushed apart and inwards where they would meet each other or the edge."""
    placed: list[list] = []
    for x, text in sorted(figures):
        half = LETTER * len(text) / 2
        left = placed[-1][0] + placed[-1][1] + SPACE if placed else 0.0
        placed.append([max(x, left + half), half, text])
    edge = WIDTH
    for mark in reversed(placed):
        mark[0] = max(mark[1], min(mark[0], edge - mark[1]))
        edge = mark[0] - mark[1] - SPACE
    return [Mark(x, y, text) for x, _half, text in placed]
