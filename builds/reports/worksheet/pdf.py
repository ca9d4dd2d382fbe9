"""The worksheet as a PDF: pages that can lie on the bench."""

from xml.sax.saxutils import escape

from django.utils.translation import gettext as _
from reportlab.lib.units import mm
from reportlab.platypus import PageBreak, Paragraph, Spacer, Table, TableStyle

from builds.reports.papers import qr_drawing
from builds.reports.pdf_base import BODY, CELL, H1, H3, HEAD_CELL, INK, LINE, SMALL, build_pdf, para, style
from builds.reports.worksheet.gather import SheetCheck, SheetStage
from builds.reports.worksheet.socket_drawing import socket_drawing
from builds.ui.messages.bench import worksheet_mains
from checks.safety import TOUCH_DC

WIDTHS = (9, 63, 25, 37, 25, 15)  # mm: number, what to do, drawing, figures, reading, time
CAUTION = style("caution", 8.2, leading=10.5)
SHORT = style("short", 7.4, leading=9.4, textColor=INK)
BOX = 13 * mm  # the height of a line that is written in


def worksheet_pdf(build, stages: list[SheetStage]) -> bytes:
    story = []
    for number, sheet in enumerate(stages):
        story += [PageBreak()] if number else []
        story += _stage(build, sheet)
    title = _("Worksheet %(serial)s") % {"serial": build.serial}
    footer = _("%(kit)s, serial number %(serial)s, guide revision %(letter)s") % {
        "kit": build.revision.name,
        "serial": build.serial,
        "letter": build.revision.letter,
    }
    return build_pdf(story, title=title, footer=footer)


def _stage(build, sheet: SheetStage) -> list:
    head = Table(
        [[[para(sheet.stage.title, H1), para(sheet.power, H3), *_lines_at_top(build, sheet)], _code(sheet)]],
        colWidths=[140 * mm, 34 * mm],
    )
    head.setStyle(TableStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), ("LEFTPADDING", (0, 0), (-1, -1), 0)]))
    story = [head, Spacer(1, 2 * mm)]
    story += [Paragraph(f"<b>{escape(sentence)}</b>", BODY) for sentence in sheet.news]
    story += [para(sentence) for sentence in sheet.to_set]
    story.append(_table(sheet))
    return story


def _lines_at_top(build, sheet: SheetStage) -> list:
    lines = [_("Date: ____________   Builder: %(name)s") % {"name": build.builder or "____________"}]
    if sheet.stage.is_powered:
        lines.append(_("Mains from a plug-in meter: ________ V at ____:____"))
        lines.append(worksheet_mains(build.mains_volts))
    return [para(line, BODY if n < 2 else SMALL) for n, line in enumerate(lines)]


def _code(sheet: SheetStage) -> list:
    return [qr_drawing(sheet.address, 28 * mm), para(_("This stage on the site"), SMALL)]


def _table(sheet: SheetStage) -> Table:
    """Steps and checks in one table. The cautions are its head, so that every page that it runs over repeats them."""
    heads = [[_cautions(sheet)] + [""] * 5] if sheet.cautions else []
    head = [_("No."), _("What to do"), _("Socket from below"), _("Expected"), _("Meter shows"), _("Time")]
    rows = [[para(heading, HEAD_CELL) for heading in head]]
    rows += [_row(line) for line in sheet.lines]
    first = len(heads) + 1
    made = Table(
        heads + rows,
        colWidths=[w * mm for w in WIDTHS],
        rowHeights=None,
        repeatRows=first,
    )
    marks = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LINEBELOW", (0, 0), (-1, -1), 0.4, LINE),
        ("LINEBELOW", (0, first - 1), (-1, first - 1), 1, INK),
        ("LEFTPADDING", (0, 0), (-1, -1), 2),
        ("RIGHTPADDING", (0, 0), (-1, -1), 3),
        ("TOPPADDING", (0, 0), (-1, -1), 3),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 4),
    ]
    if heads:
        marks += [("SPAN", (0, 0), (-1, 0)), ("BOX", (0, 0), (-1, 0), 1.6, INK)]
    for number, line in enumerate(sheet.lines, first):
        if line.is_check:
            marks += [("BOX", (4, number), (4, number), 0.9, INK), ("BOX", (5, number), (5, number), 0.9, INK)]
        elif line.is_safe:
            marks += [("SPAN", (0, number), (3, number)), ("BOX", (0, number), (-1, number), 1.6, INK)]
            marks += [("INNERGRID", (0, number), (-1, number), 0.9, INK)]
        else:
            marks += [("SPAN", (1, number), (4, number)), ("BOX", (5, number), (5, number), 0.4, INK)]
    made.setStyle(TableStyle(marks))
    return made


def _cautions(sheet: SheetStage) -> Paragraph:
    place = f"<b>{escape(sheet.stage.title)} · {escape(sheet.power)}</b><br/>"
    lead = place + " ".join(f"<b>{escape(str(title))}.</b> {escape(str(text))}" for _key, title, text in sheet.cautions)
    local = _("Local codes and licensed practice come first.")
    return Paragraph(f"{lead} {escape(local)}", CAUTION)


def _row(line) -> list:
    if line.is_safe:
        return _made_safe_row()
    return _check_row(line) if line.is_check else _step_row(line)


def _step_row(line) -> list:
    lead = f"☐ <b>{escape(_('Step %(number)d') % {'number': line.number})}</b> {escape(_short(line.text))}"
    return [para("", CELL), Paragraph(lead, CELL), "", "", "", ""]


def _short(text: str, most: int = 230) -> str:
    """As much of a step as tells which it is: the guide itself says the rest."""
    return text if len(text) <= most else text[:most].rsplit(" ", 1)[0] + " …"


def _check_row(line: SheetCheck) -> list:
    socket = line.socket and socket_drawing(*line.socket[:3], 22 * mm)
    caption = [para(line.socket[3], SHORT)] if line.socket else []
    what = [
        Paragraph(f"<b>{escape(line.check.title)}</b>", CELL),
        Paragraph(
            escape(
                _("Red: %(red)s. Black: %(black)s. Measure %(quantity)s.")
                % {"red": line.red.location, "black": line.black.location, "quantity": _quantity(line)}
            ),
            SHORT,
        ),
        *(Paragraph(f"<b>{escape(f.label)}:</b> {escape(f.figure)}", SHORT) for f in line.figures if f.is_signal),
        *([para(line.note, SHORT)] if line.note else []),
    ]
    figures = [
        Paragraph(
            f"{escape(f.label)} <b>{escape(f.figure)}</b>" if f.is_stop else escape(f"{f.label} {f.figure}"), CELL
        )
        for f in line.figures
        if not f.is_signal
    ]
    return [
        para(str(line.number), CELL),
        what,
        [socket, *caption] if socket else "",
        figures,
        [Spacer(1, BOX), para(line.unit, SMALL)],
        "",
    ]


def _quantity(line: SheetCheck) -> str:
    if line.check.through:
        return _("DC volts across %(resistor)s") % {"resistor": line.check.through}
    return str(line.check.measure_label)


def _made_safe_row() -> list:
    """Nobody reaches in before this line is filled."""
    order = _("Switch off. Unplug. Wait. Measure across the reservoir. Reach in only below %(volts)g V DC.")
    lead = f"<b>{escape(_('Made safe'))}</b><br/>{escape(order % {'volts': TOUCH_DC})}"
    boxes = [[Spacer(1, BOX), para(_("Volts DC"), SMALL)], para(_("Time"), SMALL)]
    return [Paragraph(lead, BODY), "", "", "", *boxes]
