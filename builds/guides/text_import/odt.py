"""An OpenDocument text (ISO/IEC 26300) as an outline."""

import io

from django.utils.translation import gettext as _
from odf import draw, table, text
from odf.opendocument import load

from builds.guides.parts_import.errors import UnreadableFile
from builds.guides.text_import.images import Pictures
from builds.guides.text_import.outline import Outline, Piece

NAMES = {
    "heading": text.H(outlinelevel=1).qname,
    "text": text.P().qname,
    "list": text.List().qname,
    "item": text.ListItem().qname,
    "table": table.Table().qname,
    "image": draw.Image(href="x").qname,
}
NUMBER_STYLE = text.ListLevelStyleNumber(level=1, numformat="1").qname


def read_odt(raw: bytes, archive) -> Outline:
    """Raises UnreadableFile."""
    try:
        document = load(io.BytesIO(raw))
        walker = _Walker(archive, _numbered_styles(document))
        for node in document.text.childNodes:
            walker.block(node)
        return Outline(walker.pieces, walker.pictures.kept, walker.pictures.left_out)
    except UnreadableFile:
        raise
    except Exception as error:  # the library raises whatever a damaged file makes it stumble over
        raise UnreadableFile(_("This document cannot be read. Save it again, or paste its text.")) from error


def _numbered_styles(document) -> set[str]:
    """Names of the list styles whose first level is numbered."""
    names = set()
    for style in (
        *document.styles.getElementsByType(text.ListStyle),
        *document.automaticstyles.getElementsByType(text.ListStyle),
    ):
        first = next((child for child in style.childNodes if str(child.getAttribute("level") or "") == "1"), None)
        if first is not None and first.qname == NUMBER_STYLE:
            names.add(style.getAttribute("name"))
    return names


class _Walker:
    def __init__(self, archive, numbered: set[str]):
        self.archive, self.numbered = archive, numbered
        self.pieces: list[Piece] = []
        self.pictures = Pictures()

    def block(self, node) -> None:
        name = getattr(node, "qname", None)
        if name == NAMES["heading"]:
            self._add("heading", node, int(node.getAttribute("outlinelevel") or 1))
        elif name == NAMES["text"]:
            self._add("text", node)
        elif name == NAMES["list"]:
            self._list(node, 1, node.getAttribute("stylename") in self.numbered)
        elif name == NAMES["table"]:
            self._table(node)
        else:
            for child in getattr(node, "childNodes", []):
                self.block(child)

    def _add(self, kind: str, node, level: int = 0) -> None:
        if text := _words(node):
            self.pieces.append(Piece(kind, text, level))
        self._images(node)

    def _list(self, node, depth: int, numbered: bool) -> None:
        for item in node.childNodes:
            is_first = True
            for child in item.childNodes:
                if child.qname == NAMES["list"]:
                    self._list(child, depth + 1, numbered)
                elif depth > 1:
                    self._add("bullet", child, depth)
                else:
                    self._add(("item" if numbered else "bullet") if is_first else "text", child, depth)
                    is_first = False

    def _table(self, node) -> None:
        rows = tuple(
            tuple(" ".join(_words(cell).split()) for cell in row.getElementsByType(table.TableCell))
            for row in node.getElementsByType(table.TableRow)
        )
        if rows:
            self.pieces.append(Piece("table", rows=rows))

    def _images(self, node) -> None:
        for image in node.getElementsByType(draw.Image):
            href = (image.getAttribute("href") or "").removeprefix("./")
            if href in self.archive.namelist() and (name := self.pictures.add(self.archive.read(href))):
                self.pieces.append(Piece("picture", name))


def _words(node) -> str:
    """The text of a node, without that of its frames."""
    if node.nodeType == node.TEXT_NODE:
        return str(node.data)
    if node.qname[1] in ("frame", "note", "annotation"):
        return ""
    if node.qname[1] in ("s", "tab", "line-break"):
        return " "
    text = "".join(_words(child) for child in node.childNodes)
    return " ".join(text.split()) if node.qname[1] in ("p", "h") else text
