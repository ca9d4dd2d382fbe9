"""Fonts, styles and drawings that all PDFs share: black on white, a page that can lie on the bench."""

from io import BytesIO
from pathlib import Path
from xml.sax.saxutils import escape

from django.conf import settings
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from reportlab import rl_config
from reportlab.lib import colors
from reportlab.lib.enums import TA_LEFT
from reportlab.lib.fonts import addMapping
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Frame,
    Image,
    KeepInFrame,
    PageTemplate,
    Paragraph,
    Table,
    TableStyle,
)

from builds.reports.marked import mark_up

rl_config.useA85 = 0  # photos as they are: measured thirty times faster and a sixth smaller
rl_config.trustedHosts = []
LONGEST_KEPT = 300  # characters of a row that is kept with its neighbour
INK, SOFT, LINE, AMBER, GREEN, RED = (
    colors.HexColor(c) for c in ("#1f1a14", "#5a5044", "#b9ad98", "#9a4a06", "#14532d", "#8a1c12")
)
SANS, BOLD = "DejaVuSans", "DejaVuSans-Bold"


def register_fonts():
    if SANS not in pdfmetrics.getRegisteredFontNames():
        folder = settings.BASE_DIR / "static" / "fonts"
        for name in (SANS, BOLD):
            pdfmetrics.registerFont(TTFont(name, str(folder / f"{name}.ttf")))
        for bold, name in ((0, SANS), (1, BOLD)):
            for italic in (0, 1):
                addMapping(SANS, bold, italic, name)
                addMapping(BOLD, bold, italic, BOLD)


register_fonts()  # a paragraph asks for its font when it is made, before any document is


def style(name, size, **more):
    return ParagraphStyle(
        name,
        **({"fontName": SANS, "fontSize": size, "leading": size * 1.4, "textColor": INK, "alignment": TA_LEFT} | more),
    )


BODY = style("body", 9.5, spaceAfter=4)
SMALL = style("small", 8, textColor=SOFT)
CELL = style("cell", 8.2)
HEAD_CELL = style("headcell", 8.2, fontName=BOLD)
H1 = style("h1", 20, fontName=BOLD, spaceAfter=6)
H2 = style("h2", 13, fontName=BOLD, spaceBefore=12, spaceAfter=5, keepWithNext=1)
H2_OVER = style("h2over", 13, fontName=BOLD, spaceBefore=12, spaceAfter=5)  # over a table longer than its page
H3 = style("h3", 10.5, fontName=BOLD, spaceBefore=8, spaceAfter=3, keepWithNext=1)
QUOTE = style("quote", 9, leftIndent=8, borderPadding=(0, 0, 0, 6), textColor=SOFT, spaceAfter=3)


def para(text, kind=BODY) -> Paragraph:
    """A paragraph of plain text: whatever a user typed stays text."""
    return Paragraph(escape(str(text)).replace("\n", "<br/>"), kind)


def marked_para(text, kind=BODY) -> Paragraph:
    """A paragraph of the guide's Markdown."""
    return Paragraph(mark_up(text), kind)


def diff_para(pieces, kind=BODY) -> Paragraph:
    """A text with its changes: what goes is struck through, what comes is underlined; legible in black and white."""
    marks = {"same": "{}", "out": "<strike>{}</strike>", "in": "<u><b>{}</b></u>"}
    return Paragraph("".join(marks[p.kind].format(escape(p.text)) for p in pieces).replace("\n", "<br/>"), kind)


def keep_heading(heading, *flow) -> list:
    """A heading and what follows, which may run over pages: a new page only where the heading would stand by itself."""
    return [CondPageBreak(50 * mm), para(heading, H2_OVER), *flow]


def fit_on_one_page(story) -> KeepInFrame:
    """A story that stays on one page: made smaller where it is too long."""
    return KeepInFrame(A4[0] - 36 * mm, A4[1] - 36 * mm, story, mode="shrink")


def build_pdf(story, *, title: str, footer: str) -> bytes:
    out = BytesIO()
    write_pdf(out, story, title=title, footer=footer)
    return out.getvalue()


def write_pdf(out, story, *, title: str, footer: str) -> None:
    """Write the document to a file."""
    PaperDocument(out, title=title, footer=footer).build(story)


class PaperDocument(BaseDocTemplate):
    """A4 with the margins of all papers; a foot with the page's number from page `foot_from` on."""

    foot_from = 1

    def __init__(self, out, *, title: str, footer: str):
        super().__init__(
            out,
            pagesize=A4,
            leftMargin=18 * mm,
            rightMargin=18 * mm,
            topMargin=16 * mm,
            bottomMargin=18 * mm,
            title=title,
            author="Kit builds",
            lang=get_language() or "en-GB",
        )
        self.footer = footer
        frame = Frame(self.leftMargin, self.bottomMargin, self.width, self.height, leftPadding=0, rightPadding=0)
        self.addPageTemplates(PageTemplate("page", [frame], onPage=self._foot))

    def _foot(self, canvas, _doc):
        if canvas.getPageNumber() < self.foot_from:
            return
        canvas.setFont(SANS, 7.5)
        canvas.setFillColor(SOFT)
        canvas.drawString(18 * mm, 10 * mm, self.footer)
        canvas.drawRightString(A4[0] - 18 * mm, 10 * mm, _("page %(number)d") % {"number": canvas.getPageNumber()})


def table(rows, widths, *, header=True) -> Table:
    """Rows of text; cells wrap. Drawings and pictures pass through as they are."""
    cells = [
        [
            cell
            if hasattr(cell, "wrapOn") or isinstance(cell, list)
            else para(cell, HEAD_CELL if header and n == 0 else CELL)
            for cell in row
        ]
        for n, row in enumerate(rows)
    ]
    made = Table(cells, colWidths=[w * mm for w in widths], repeatRows=1 if header else 0)
    made.setStyle(
        TableStyle(
            [
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LINEBELOW", (0, 0), (-1, -1), 0.4, LINE),
                ("LINEBELOW", (0, 0), (-1, 0), 1 if header else 0.4, INK if header else LINE),
                ("TOPPADDING", (0, 0), (-1, -1), 2.5),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
                ("LEFTPADDING", (0, 0), (-1, -1), 2),
                ("RIGHTPADDING", (0, 0), (-1, -1), 4),
                *_kept_together(cells, 1 if header else 0),
            ]
        )
    )
    return made


def _kept_together(cells: list[list], heads: int) -> list[tuple]:
    """No row stands alone on a page: the first two stay together, and the last two, unless they are very long."""
    pairs = {heads, len(cells) - 2} if len(cells) >= heads + 2 else set()
    return [
        ("NOSPLIT", (0, 0 if first == heads else first), (-1, first + 1))
        for first in sorted(pairs)
        if first >= heads and all(_length(row) <= LONGEST_KEPT for row in cells[first : first + 2])
    ]


def _length(cell) -> int:
    """Characters of a row or of what a cell holds."""
    if isinstance(cell, list):
        return sum(map(_length, cell))
    return len(cell.getPlainText()) if isinstance(cell, Paragraph) else 0


def picture(photo, width):
    """A photo by its path on disk where it has one: memory stays small however many there are."""
    file = _read_file(photo.print_copy)
    if file is None:
        return para(_("(photo not found)"))
    return Image(file, width=width, height=width * photo.height / max(photo.width, 1))


def _read_file(file) -> str | BytesIO | None:
    if not file:  # a row without its file: a record goes on saying what it has
        return None
    try:
        return file.path if Path(file.path).exists() else None
    except NotImplementedError:  # an object store has no paths
        pass
    try:
        with file.open("rb") as content:
            return BytesIO(content.read())
    except OSError:
        return None
