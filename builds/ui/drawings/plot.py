"""Charts as shapes, drawn alike on the page (SVG) and on paper (PDF), never without the table behind them.

What a mark says, it says by its shape: nothing is told by colour alone.
"""

from dataclasses import dataclass, field
from zlib import crc32

from django.utils.translation import gettext as _

from builds.ui.messages.outcomes import STYLES, outcome_label
from checks.errors import CallerError

SHAPES = {str(outcome): style.mark for outcome, style in STYLES.items()} | {"earlier": "ring", "share": "dot"}
OUTCOMES = {style.mark: outcome for outcome, style in STYLES.items()}


def mark_label(shape: str) -> str:
    """What a mark says, for a drawing's legend."""
    return _("an earlier attempt") if shape == "ring" else outcome_label(OUTCOMES[shape])


@dataclass(frozen=True)
class Line:
    x1: float
    y1: float
    x2: float
    y2: float
    look: str = "axis"  # axis, limit, expected, whisker, grid


@dataclass(frozen=True)
class Curve:
    """A line through `points` of (x, y)."""

    points: tuple[tuple[float, float], ...]
    look: str = "curve"  # curve, curve-other

    @property
    def path(self) -> str:
        """SVG path data."""
        return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in self.points)


@dataclass(frozen=True)
class Box:
    """A filled area: the band (hatched as well as tinted) or beyond a stop limit."""

    x: float
    y: float
    width: float
    height: float
    look: str = "band"


@dataclass(frozen=True)
class Mark:
    x: float
    y: float
    shape: str
    title: str = ""  # shown when pointed at

    @property
    def path(self) -> str:
        """SVG path data, about 3 units to each side."""
        return PATHS[self.shape].format(x=self.x, y=self.y)


PATHS = {
    "dot": "M{x:.1f} {y:.1f}m-3 0a3 3 0 1 0 6 0a3 3 0 1 0 -6 0z",
    "ring": "M{x:.1f} {y:.1f}m-3 0a3 3 0 1 0 6 0a3 3 0 1 0 -6 0z",
    "cross": "M{x:.1f} {y:.1f}m-3.2 -3.2l6.4 6.4m0 -6.4l-6.4 6.4",
    "square": "M{x:.1f} {y:.1f}m-3 -3h6v6h-6z",
    "diamond": "M{x:.1f} {y:.1f}m0 -3.8l3.8 3.8l-3.8 3.8l-3.8 -3.8z",
    "triangle": "M{x:.1f} {y:.1f}m0 -3.8l3.8 6.6h-7.6z",
}


@dataclass(frozen=True)
class Label:
    x: float
    y: float
    text: str
    anchor: str = "middle"  # start, middle, end


@dataclass(frozen=True)
class Plot:
    """A chart `width` by `height` units, what it shows in a sentence, and its table: `head` and `rows` of texts.

    Raises CallerError for a chart without a description or without a row for what it shows.
    """

    description: str
    width: float
    height: float
    shapes: tuple
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    legend: tuple[tuple[str, str], ...] = field(default=())  # (shape, label)

    def __post_init__(self):
        if not self.description.strip():
            raise CallerError("A chart says in a sentence what it shows.", argument="description")
        if not self.rows or any(len(row) != len(self.head) for row in self.rows):
            raise CallerError("A chart has a table behind it, with a cell for every heading.", argument="rows")

    def of(self, kind) -> list:
        return [s for s in self.shapes if isinstance(s, kind)]

    @property
    def key(self) -> str:
        """Tells this chart from others on its page."""
        return f"hatch-{crc32(self.description.encode()):08x}"

    @property
    def lines(self):
        return self.of(Line)

    @property
    def curves(self):
        return self.of(Curve)

    @property
    def boxes(self):
        return self.of(Box)

    @property
    def marks(self):
        return self.of(Mark)

    @property
    def labels(self):
        return self.of(Label)

    @property
    def keys(self) -> list:
        """The legend as marks to draw with their labels: [(Mark, label)]."""
        return [(Mark(6, 6, shape), label) for shape, label in self.legend]
