"""Colour bands and tick boxes of the printed guide."""

from reportlab.graphics.shapes import Drawing, Line, Rect
from reportlab.lib import colors

from builds.reports.pdf_base import INK, LINE
from builds.ui.templatetags.formatting import band_x

COLOURS = {
    "black": "#111111", "brown": "#7a4419", "red": "#dd2222", "orange": "#f57c00", "yellow": "#fbd72b",
    "green": "#2e8b3d", "blue": "#2550c8", "violet": "#8a3fc4", "grey": "#888888", "white": "#ffffff",
    "gold": "#c9a227", "silver": "#c0c4c8", "pink": "#f48fb1",
}  # fmt: skip


def resistor(colours, width: float = 60) -> Drawing:
    """A resistor with its bands, as the pages draw it."""
    by = width / 70
    drawing = Drawing(width, 18 * by)
    drawing.add(Line(0, 9 * by, width, 9 * by, strokeColor=INK, strokeWidth=0.8))
    body = colors.HexColor("#d9c7a0")
    drawing.add(Rect(8 * by, 2 * by, 54 * by, 14 * by, 4 * by, 4 * by, fillColor=body, strokeColor=LINE))
    for n, colour in enumerate(colours):
        drawing.add(
            Rect(
                float(band_x(n)) * by,
                2 * by,
                5 * by,
                14 * by,
                fillColor=colors.HexColor(COLOURS[colour]),
                strokeColor=LINE,
                strokeWidth=0.2,
            )
        )
    return drawing


def box(size: float = 9) -> Drawing:
    """A square to tick."""
    drawing = Drawing(size, size)
    drawing.add(Rect(0.5, 0.5, size - 1, size - 1, fillColor=None, strokeColor=INK, strokeWidth=0.8))
    return drawing
