"""A document with contents, bookmarks and page numbers."""

from django.utils.translation import get_language
from django.utils.translation import gettext as _
from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate, Paragraph
from reportlab.platypus.tableofcontents import TableOfContents

from builds.reports.pdf_base import BOLD, SANS, SOFT, style

CHAPTER = style("chapter", 16, fontName=BOLD, spaceAfter=6, keepWithNext=1)
SECTION = style("section", 11, fontName=BOLD, spaceBefore=8, spaceAfter=3, keepWithNext=1)
LEVELS = {"chapter": 0, "section": 1}
CONTENTS = (style("toc0", 10.5, fontName=BOLD, leftIndent=0, spaceBefore=4), style("toc1", 9.5, leftIndent=12))


class GuideDocument(BaseDocTemplate):
    """Headings of the two styles above go into the contents and the bookmarks."""

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
        frame = Frame(self.leftMargin, self.bottomMargin, self.width, self.height, leftPadding=0, rightPadding=0)
        self.footer = footer
        self.addPageTemplates(PageTemplate("page", [frame], onPage=self._foot))

    def _foot(self, canvas, _doc):
        if canvas.getPageNumber() == 1:
            return
        canvas.setFont(SANS, 7.5)
        canvas.setFillColor(SOFT)
        canvas.drawString(18 * mm, 10 * mm, self.footer)
        canvas.drawRightString(A4[0] - 18 * mm, 10 * mm, _("page %(number)d") % {"number": canvas.getPageNumber()})

    def afterFlowable(self, flowable):
        level = LEVELS.get(flowable.style.name) if isinstance(flowable, Paragraph) else None
        if level is None:
            return
        heading, key = flowable.getPlainText(), f"h{self.seq_of(flowable)}"
        self.canv.bookmarkPage(key)
        self.canv.addOutlineEntry(heading, key, level=level, closed=level > 0)
        self.notify("TOCEntry", (level, heading, self.page, key))

    def seq_of(self, flowable) -> int:
        """The same number for a heading in every pass."""
        return flowable.heading_number


def contents() -> TableOfContents:
    made = TableOfContents()
    made.levelStyles = [*CONTENTS]
    made.dotsMinLevel = 0
    return made
