"""What is written and hatched on the scale drawing: figures under their ticks that never run into each other, stops
with their number, and each needle with its value."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

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


def figures_on(unit: str, **values) -> dict[str, str]:
    """The figures of a scale as they are written, by name (low, high, value, stop_above, stop_below); absent ones left
    out."""
    figures = {}
    for name, value in values.items():
        if value is not None:
            figures[name] = format_figure(value, unit)
    return figures


def list_marks(scale: Scale, figures: dict[str, str], value: float | None = None) -> Marks:
    """The marks of one scale. A stop beyond the drawn range is hatched past the end of the line, with an arrow."""
    edges = (("low", scale.low_x), ("high", scale.high_x))
    limits = _row([(x, figures[name]) for name, x in edges if x is not None], LIMITS)
    hatched, stops = [], []
    if "stop_below" in figures:
        edge = scale.stop_low_to
        text = _("off below %(limit)s") % {"limit": figures["stop_below"]}
        hatched.append(_hatch(0.0, edge if edge is not None else LEFT - 2))
        stops.append((LEFT, f"← {text}") if edge is None else (edge, text))
    if "stop_above" in figures:
        edge = scale.stop_from
        text = _("off above %(limit)s") % {"limit": figures["stop_above"]}
        hatched.append(_hatch(edge if edge is not None else RIGHT + 2, WIDTH))
        stops.append((RIGHT, f"{text} →") if edge is None else (edge, text))
    marks, y = [*limits, *_needle(scale, figures, value)], LIMITS
    for n, line in enumerate([stops] if len(stops) < 2 or _fit(stops) else [[stop] for stop in stops]):
        y = STOPS + n * LINE if line else y
        marks += _row(line, y)
    return Marks(tuple(marks), tuple(hatched), y + 6)


def _fit(figures) -> bool:
    """Do these fit on one line?"""
    return sum([LETTER * len(text) + SPACE for _x, text in figures]) <= WIDTH + SPACE


def _needle(scale: Scale, figures: dict[str, str], value: float | None) -> list[Mark]:
    """The reading's figure over its needle, with an arrow where it lies beyond the scale."""
    if value is None or not scale.needles:
        return []
    text = figures["value"]
    text = f"{text} →" if value > scale.end else f"← {text}" if value < scale.start else text
    half = LETTER * len(text) / 2
    return [Mark(max(half, min(scale.needles[-1].x, WIDTH - half)), TOP, text)]


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
    marks, edge = [], WIDTH
    for x, half, text in reversed(placed):
        x = max(half, min(x, edge - half))
        edge = x - half - SPACE
        marks.append(Mark(x, y, text))
    return marks
