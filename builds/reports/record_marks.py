"""Marks of a builder's papers that stay legible in black and white: verdicts by symbol and weight, the scale drawing,
leads."""

from xml.sax.saxutils import escape

from django.utils.translation import gettext as _
from reportlab.graphics.shapes import Drawing, Line, Rect
from reportlab.platypus import Paragraph

from builds.reports.pdf_base import BODY, CELL, GREEN, INK, RED
from builds.ui.drawings.scale import LEFT, RIGHT, make_scale
from builds.ui.messages.outcomes import find_style, outcome_label
from checks.outcomes import Outcome


def lead_para(lead: str, text: str) -> Paragraph:
    """A sentence with its lead in bold."""
    return Paragraph(f"<b>{escape(lead)}</b> {escape(text)}", BODY)


def verdict_para(outcome: str, conceded: str = "") -> Paragraph:
    """A verdict with its symbol; what is not in band is bold, what is off is set in capitals too, and a concession says
    why."""
    label = outcome_label(outcome)
    text = f"{find_style(outcome).symbol} {escape(label.upper() if outcome == Outcome.SWITCH_OFF else label)}"
    text = text if outcome == Outcome.IN_BAND else f"<b>{text}</b>"
    reason = _("Concession: %(reason)s") % {"reason": conceded}
    return Paragraph(text + (f"<br/>{escape(reason)}" if conceded else ""), CELL)


def scale_drawing(low, high, value, u: float, width: float) -> Drawing:
    """The band as a thick bar with its ends ticked and the reading as a needle with its uncertainty; empty without a
    band."""
    drawing = Drawing(width, 16)
    if low is None and high is None:
        return drawing
    scale = make_scale(low, high, values=[] if value is None else [value], u=u or 0.0)
    by = width / (LEFT + RIGHT)
    drawing.add(Line(LEFT * by, 7, RIGHT * by, 7, strokeColor=INK, strokeWidth=0.7))
    drawing.add(Rect(scale.band_x * by, 5, scale.band_width * by, 4, fillColor=GREEN, strokeColor=None))
    for x in (scale.low_x, scale.high_x):
        if x is not None:
            drawing.add(Line(x * by, 2, x * by, 12, strokeColor=INK, strokeWidth=0.9))
    for needle in scale.needles:
        if not needle.outside:
            drawing.add(
                Rect(
                    needle.left * by,
                    3,
                    needle.width * by,
                    8,
                    fillColor=RED,
                    fillOpacity=0.25,
                    strokeColor=None,
                )
            )
        drawing.add(Line(needle.x * by, 1, needle.x * by, 15, strokeColor=RED, strokeWidth=1.3))
    return drawing
