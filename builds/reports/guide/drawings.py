"""Colour bands, scales, codes and tick boxes of the printed guide."""

from reportlab.graphics.barcode.qr import QrCodeWidget
from reportlab.graphics.shapes import Drawing, Line, Rect
from reportlab.lib import colors

from builds.reports.pdf_base import INK, LINE
from builds.ui.drawings.scale import LEFT, RIGHT, Scale, make_scale
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


def build_scale(band) -> Scale | None:
    """The scale of a check, as the bench draws it before anything is read; None without a band."""
    if band is None or band.is_open or (band.low is None and band.high is None):
        return None
    stops = {"stop_above": band.stop_above, "stop_below": band.stop_below}
    return make_scale(band.low, band.high, expected=band.expected, **stops)


def band_scale(scale: Scale, width: float) -> Drawing:
    """The band as a thick bar, its ends and the expected value ticked, what lies past a stop limit crossed out."""
    by = width / (LEFT + RIGHT)
    drawing = Drawing(width, 12)
    drawing.add(Line(LEFT * by, 6, RIGHT * by, 6, strokeColor=INK, strokeWidth=0.7))
    drawing.add(Rect(scale.band_x * by, 4, scale.band_width * by, 4, fillColor=INK, strokeColor=None))
    for x, half in ((scale.low_x, 4), (scale.high_x, 4), (scale.expected_x, 6)):
        if x is not None:
            drawing.add(Line(x * by, 6 - half, x * by, 6 + half, strokeColor=INK, strokeWidth=0.9))
    for start, end in stopped_ranges(scale):
        drawing.add(Rect(start * by, 2, (end - start) * by, 8, fillColor=None, strokeColor=INK, strokeWidth=0.8))
        for x1, x2 in hatches(start, end):
            drawing.add(Line(x1 * by, 2, x2 * by, 10, strokeColor=INK, strokeWidth=0.6))
    return drawing


def stopped_ranges(scale: Scale) -> list[tuple[float, float]]:
    """From where to where the scale is past a stop limit."""
    stretches = [] if scale.stop_from is None else [(scale.stop_from, RIGHT)]
    return stretches + ([] if scale.stop_low_to is None else [(LEFT, scale.stop_low_to)])


def hatches(start: float, end: float) -> list[tuple[float, float]]:
    """Slanting strokes across an area, (foot, head) of each."""
    return [(x, min(end, x + 12)) for x in range(round(start), round(end) - 4, 14)]


def code(link: str, size: float) -> Drawing:
    """A code that a phone's camera opens (ISO/IEC 18004)."""
    widget = QrCodeWidget(link, barLevel="M")
    left, low, right, high = widget.getBounds()
    drawing = Drawing(size, size, transform=[size / (right - left), 0, 0, size / (high - low), 0, 0])
    drawing.add(widget)
    return drawing
