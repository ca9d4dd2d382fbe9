"""A document with contents, bookmarks and page numbers."""

from reportlab.platypus import Paragraph
from reportlab.platypus.tableofcontents import TableOfContents

from builds.reports.pdf_base import BOLD, PaperDocument, style

CHAPTER = style("chapter", 16, fontName=BOLD, spaceBefore=14, spaceAfter=6, keepWithNext=1)
SECTION = style("section", 11, fontName=BOLD, spaceBefore=8, spaceAfter=3, keepWithNext=1)
LEVELS = {"chapter": 0, "section": 1}
CONTENTS = (style("toc0", 10.5, fontName=BOLD, leftIndent=0, spaceBefore=4), style("toc1", 9.5, leftIndent=12))


class GuideDocument(PaperDocument):
    """Headings of the two styles above go into the contents and the bookmarks. The cover has no foot."""

    foot_from = 2

    def afterFlowable(self, flowable):
        level = LEVELS.get(flowable.style.name) if isinstance(flowable, Paragraph) else None
        if level is None:
            return
        heading, key = flowable.getPlainText(), f"h{self.number_heading(flowable)}"
        self.canv.bookmarkPage(key)
        self.canv.addOutlineEntry(heading, key, level=level, closed=level > 0)
        self.notify("TOCEntry", (level, heading, self.page, key))

    def number_heading(self, flowable) -> int:
        """The same number for a heading in every pass."""
        return flowable.heading_number


def contents() -> TableOfContents:
    made = TableOfContents()
    made.levelStyles = [*CONTENTS]
    made.dotsMinLevel = 0
    return made
