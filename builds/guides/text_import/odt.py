"""An OpenDocument text (ISO/IEC 26300) as an outline."""

import io

from django.utils.translation import gettext as _
from odf.opendocument import load
from odf.style import Style
from odf.text import ListLevelStyleNumber, ListStyle

from builds.guides.parts_import.errors import UnreadableFile
from builds.guides.text_import.cleaning import clean
from builds.guides.text_import.images import Pictures
from builds.guides.text_import.markup import MOST, escape, raise_figures
from builds.guides.text_import.outline import Outline, Piece, with_tables_of_tabs
from builds.guides.text_import.table_grid import LONGEST, Cell, rows_of_cells, span

NUMBER_STYLE = ListLevelStyleNumber(level=1, numformat="1").qname
ROW_GROUPS = ("table-header-rows", "table-rows", "table-row-group")


def read_odt(raw: bytes, archive) -> Outline:
    """Raises UnreadableFile."""
    try:
        document = load(io.BytesIO(raw))
        walker = _Walker(
            archive,
            _numbered_styles(document),
            _title_styles(document),
            _raised_styles(document),
            _bold_styles(document),
        )
        for node in document.text.childNodes:
            walker.block(node)
        pieces = with_tables_of_tabs(walker.pieces)
        notes = [*dict.fromkeys(walker.notes), *(["cut"] if len(pieces) > MOST else [])]
        return Outline(pieces[:MOST], walker.pictures.kept, walker.pictures.left_out, notes)
    except UnreadableFile:
        raise
    except Exception as error:  # the library raises whatever a damaged file makes it stumble over
        raise UnreadableFile(_("This document cannot be read. Save it again, or paste its text.")) from error


def _styles(document, kind):
    return (*document.styles.getElementsByType(kind), *document.automaticstyles.getElementsByType(kind))


def _numbered_styles(document) -> set[str]:
    """Names of the list styles whose first level is numbered."""
    names = set()
    for style in _styles(document, ListStyle):
        first = next((child for child in style.childNodes if str(child.getAttribute("level") or "") == "1"), None)
        if first is not None and first.qname == NUMBER_STYLE:
            names.add(style.getAttribute("name"))
    return names


def _title_styles(document) -> set[str]:
    """Names of the styles of the document's title."""
    rows = _styles(document, Style)
    return {"Title"} | {row.getAttribute("name") for row in rows if row.getAttribute("parentstylename") == "Title"}


def _raised_styles(document) -> set[str]:
    """Names of the styles whose characters are raised."""
    names = set()
    for style in _styles(document, Style):
        for child in style.childNodes:
            if _name(child) == "text-properties" and str(child.getAttribute("textposition") or "").startswith("super"):
                names.add(style.getAttribute("name"))
    return names


def _bold_styles(document) -> set[str]:
    """Names of the styles whose characters are bold."""
    names = set()
    for style in _styles(document, Style):
        for child in style.childNodes:
            if _name(child) == "text-properties" and str(child.getAttribute("fontweight") or "") == "bold":
                names.add(style.getAttribute("name"))
    return names


def _is_bold(node, styles: set[str]) -> bool:
    """Is all that a paragraph says in bold, by its own style or by that of its spans?"""
    if node.getAttribute("stylename") in styles:
        return True
    children = [child for child in node.childNodes if str(child).strip()]
    return bool(children) and all(_name(c) == "span" and c.getAttribute("stylename") in styles for c in children)


def _name(node) -> str:
    return node.qname[1] if getattr(node, "qname", None) else ""


class _Walker:
    def __init__(self, archive, numbered: set[str], titles: set[str], raised_styles: set[str], bold: set[str]):
        self.archive, self.numbered, self.titles, self.raised = archive, numbered, titles, raised_styles
        self.bold = bold
        self.names = set(archive.namelist())
        self.pieces: list[Piece] = []
        self.notes: list[str] = []
        self.pictures = Pictures()

    def block(self, node) -> None:
        name = _name(node)
        if name == "h":
            self._add("heading", node, span(node.getAttribute("outlinelevel")))
        elif name == "p":
            self._add("title" if node.getAttribute("stylename") in self.titles else "text", node)
        elif name == "list":
            self._list(node, 1, node.getAttribute("stylename") in self.numbered)
        elif name == "table":
            self._table(node)
        elif name == "tracked-changes":  # what was deleted
            self.notes.append("tracked")
        elif name == "object":
            self.notes.append("object")
        elif name == "frame":
            self._frame(node)
        else:
            for child in getattr(node, "childNodes", []):
                self.block(child)

    def _add(self, kind: str, node, level: int = 0) -> None:
        lines = clean(_words(node, self.raised)).split("\t")
        text = "\t".join(" ".join(cell.split()) for cell in lines).strip()
        if kind not in ("text", "title"):
            text = text.replace("\t", " ")
        if text:
            plain = text if kind in ("heading", "title") else escape(text)
            is_bold = kind == "text" and "\t" not in text and _is_bold(node, self.bold)
            self.pieces.append(Piece(kind, f"**{plain}**" if is_bold else plain, level))
        self._frames(node)

    def _list(self, node, depth: int, numbered: bool) -> None:
        for item in node.childNodes:
            is_first = True
            for child in item.childNodes:
                name = _name(child)
                if name == "list":
                    self._list(child, depth + 1, numbered)
                elif name != "p":  # a numbered heading is written so, and an item may hold a table
                    self.block(child)
                elif depth > 1:
                    self._add("bullet", child, depth)
                else:
                    self._add(("item" if numbered else "bullet") if is_first else "text", child, depth)
                    is_first = False

    def _table(self, node) -> None:
        rows: list[list[Cell]] = []
        inner: list = []
        for row in _table_rows(node):
            cells = [cell for cell in row.childNodes if _name(cell) == "table-cell"]
            line = [self._cell(cell) for cell in cells for _n in range(_repeats(cell, "numbercolumnsrepeated"))]
            rows += [line] * min(_repeats(row, "numberrowsrepeated"), LONGEST)
            inner += [child for cell in cells for child in cell.childNodes]
        if table := rows_of_cells(rows):
            self.pieces.append(Piece("table", rows=table))
        for child in inner:
            self.block(child) if _name(child) == "table" else self._frames(child)

    def _cell(self, cell) -> Cell:
        text = " ".join(_words(child, self.raised) for child in cell.childNodes if _name(child) != "table")
        wide, high = (span(cell.getAttribute(f"number{way}spanned")) for way in ("columns", "rows"))
        return Cell(" ".join(clean(text).split()), wide, high)

    def _frames(self, node) -> None:
        """Pictures and text boxes that are anchored in a paragraph, wherever in it."""
        for child in getattr(node, "childNodes", []):
            if _name(child) == "frame":
                self._frame(child)
            elif _name(child) not in ("note", "annotation"):
                self._frames(child)

    def _frame(self, frame) -> None:
        for child in frame.childNodes:
            if _name(child) == "image":
                self._image((child.getAttribute("href") or "").removeprefix("./"))
            elif _name(child) in ("text-box", "object"):
                self.block(child)

    def _image(self, href: str) -> None:
        if href not in self.names:
            self.pictures.left_out.append(href or "?")
        elif name := self.pictures.add(self.archive.read(href)):
            self.pieces.append(Piece("picture", name))


def _table_rows(node):
    for child in node.childNodes:
        if _name(child) == "table-row":
            yield child
        elif _name(child) in ROW_GROUPS:
            yield from _table_rows(child)


def _repeats(node, attribute: str) -> int:
    return min(span(node.getAttribute(attribute)), 60)


def _words(node, raised_styles: set[str]) -> str:
    """The text of a node, without that of its frames; a footnote's in brackets."""
    if node.nodeType == node.TEXT_NODE:
        return " ".join(str(node.data).split("\t"))
    name = _name(node)
    if name in ("frame", "annotation", "note-citation"):
        return ""
    if name == "tab":
        return "\t"
    if name in ("s", "line-break"):
        return " "
    text = "".join(_words(child, raised_styles) for child in node.childNodes)
    if name == "span" and node.getAttribute("stylename") in raised_styles:
        return raise_figures(text)
    if name == "note":
        return f" ({' '.join(text.split())})" if text.strip() else ""
    if name == "a" and (href := str(node.getAttribute("href") or "")).startswith(("http://", "https://")):
        return text if text.strip() == href else f"{text} ({href})"
    return f"{text} " if name in ("p", "h", "list-item") else text
