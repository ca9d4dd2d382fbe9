"""Charts on paper: the same shapes as on the page, black on white, the band hatched so that a photocopy shows it."""

from reportlab.graphics.shapes import Circle, Drawing, Group, Line, Path, PolyLine, Rect, String
from reportlab.lib import colors
from reportlab.lib.units import mm

from builds.reports.pdf_base import AMBER, GREEN, INK, LINE, SANS, SMALL, SOFT, para

HATCH = 7.0  # units between two strokes of the hatching
LOOKS = {
    "axis": (INK, 0.8, None),
    "limit": (GREEN, 0.9, None),
    "expected": (GREEN, 0.7, (3, 2)),
    "grid": (LINE, 0.4, None),
    "whisker": (INK, 1.1, None),
}


def plot_drawing(plot, width=120 * mm) -> Drawing:
    """A Plot as a drawing `width` points wide."""
    by = width / plot.width
    inner = Group(transform=(by, 0, 0, -by, 0, plot.height * by))  # the page's y points down, paper's up
    for box in plot.boxes:
        _box(inner, box)
    for line in plot.lines:
        colour, thick, dashes = LOOKS[line.look]
        inner.add(
            Line(line.x1, line.y1, line.x2, line.y2, strokeColor=colour, strokeWidth=thick, strokeDashArray=dashes)
        )
    for curve in plot.curves:
        inner.add(_curve(curve))
    for mark in plot.marks:
        inner.add(_mark(mark))
    drawn = Drawing(width, plot.height * by)
    drawn.add(inner)
    for label in plot.labels:  # not turned over with the rest
        drawn.add(
            String(
                label.x * by,
                (plot.height - label.y) * by,
                label.text,
                fontName=SANS,
                fontSize=max(5.5, 8 * by),
                textAnchor=label.anchor,
                fillColor=INK,
            )
        )
    return drawn


def _curve(curve) -> PolyLine:
    is_other = curve.look == "curve-other"
    flat = [value for point in curve.points for value in point]
    return PolyLine(flat, strokeColor=SOFT if is_other else INK, strokeWidth=0.5 if is_other else 0.9)


def _box(group, box) -> None:
    group.add(Rect(box.x, box.y, box.width, box.height, fillColor=GREEN, fillOpacity=0.12, strokeColor=None))
    for n in range(int((box.width + box.height) / HATCH) + 1):
        along = n * HATCH  # from the upper edge down to the left, kept inside the box
        x1, y1 = box.x + min(along, box.width), box.y + max(0.0, along - box.width)
        x2, y2 = box.x + max(0.0, along - box.height), box.y + min(along, box.height)
        group.add(Line(x1, y1, x2, y2, strokeColor=GREEN, strokeWidth=0.25))


CORNERS = {  # from the middle, downwards positive as on the page
    "diamond": ((0, -3.2), (3.2, 0), (0, 3.2), (-3.2, 0)),
    "triangle": ((0, -3.4), (3.2, 2.4), (-3.2, 2.4)),
}


def _mark(mark):
    x, y, r = mark.x, mark.y, 2.6
    if mark.shape in ("dot", "ring"):
        return Circle(x, y, r, fillColor=INK if mark.shape == "dot" else colors.white, strokeColor=INK, strokeWidth=0.8)
    if mark.shape == "square":
        return Rect(x - r, y - r, 2 * r, 2 * r, fillColor=INK, strokeColor=INK)
    path = Path(strokeColor=INK, strokeWidth=1.3, fillColor=AMBER if mark.shape in CORNERS else None)
    if mark.shape == "cross":
        for dx, dy in ((-r, -r), (-r, r)):
            path.moveTo(x + dx, y + dy)
            path.lineTo(x - dx, y - dy)
        return path
    (dx, dy), *others = CORNERS[mark.shape]
    path.moveTo(x + dx, y + dy)
    for dx, dy in others:
        path.lineTo(x + dx, y + dy)
    path.closePath()
    return path


SIGNS = {"dot": "●", "ring": "○", "cross": "✗", "square": "■", "diamond": "◆", "triangle": "▲"}


def legend(plot):
    """What the marks mean, in a line of small print."""
    return para("   ".join(f"{SIGNS[shape]} {text}" for shape, text in plot.legend), SMALL)
