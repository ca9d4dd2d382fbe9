"""A valve socket from below, for paper: the probed pins carry the letter of their probe, since paper has no colours."""

from reportlab.graphics.shapes import Circle, Drawing, Line, PolyLine, String
from reportlab.lib import colors

from builds.reports.pdf_base import BOLD, INK, SANS, SOFT
from builds.ui.drawings.socket import CENTRE, find_base, list_pins
from checks.errors import ChecksError

LEFT, TOP, SPAN = 10.0, 10.0, 146.0  # of the drawing on the page (templates/drawings/_socket.html)


def socket_drawing(base: str, red: str, black: str, size: float) -> Drawing | None:
    """None for a base that is not drawn."""
    try:
        valve_base = find_base(base)
    except ChecksError:
        return None
    by = size / SPAN
    drawing = Drawing(size, size)

    def at(x, y):
        return (x - LEFT) * by, size - (y - TOP) * by

    drawing.add(Circle(*at(CENTRE, CENTRE), 66 * by, strokeColor=INK, fillColor=None, strokeWidth=0.8))
    _mark(drawing, valve_base.mark, at, by)
    for pin in list_pins(base):
        probe = {red: "R", black: "B"}.get(pin.number, "") if pin.number in (red, black) else ""
        x, y = at(pin.x, pin.y)
        fill = colors.white if probe != "B" else INK
        drawing.add(Circle(x, y, (12 if probe else pin.radius) * by, strokeColor=INK, fillColor=fill, strokeWidth=0.7))
        if probe:
            ink = INK if probe == "R" else colors.white
            drawing.add(String(x, y - 2.3, probe, fontName=BOLD, fontSize=6.5, textAnchor="middle", fillColor=ink))
        lx, ly = at(pin.label_x, pin.label_y)
        font = BOLD if probe else SANS
        drawing.add(String(lx, ly - 2.2, pin.number, fontName=font, fontSize=6, textAnchor="middle", fillColor=INK))
    return drawing


def _mark(drawing, mark: str, at, by: float) -> None:
    """What the pins are counted from."""
    if mark == "key":
        drawing.add(Circle(*at(CENTRE, CENTRE), 14 * by, strokeColor=SOFT, fillColor=None, strokeWidth=0.7))
        drawing.add(Line(*at(80, 94), *at(80, 102), strokeColor=SOFT, strokeWidth=1.5))
    elif mark in ("gap", "pip"):
        points = [value for point in ((70, 152), (80, 141), (90, 152)) for value in at(*point)]
        drawing.add(PolyLine(points, strokeColor=SOFT, strokeWidth=0.8))
