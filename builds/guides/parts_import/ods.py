"""Rows of an OpenDocument spreadsheet (ISO/IEC 26300), repeated cells and rows spelled out only where they say
something."""

import io

from django.utils.translation import gettext as _
from odf.opendocument import load
from odf.style import Style
from odf.table import CoveredTableCell, Table, TableCell, TableColumn, TableRow
from odf.teletype import extractText
from odf.text import Span

from builds.guides.parts_import.delimited import MAX_COLUMNS, MAX_ROWS
from builds.guides.parts_import.errors import UnreadableFile
from builds.guides.parts_import.figures import unsolved
from builds.guides.parts_import.hidden import Grid

GROUPS = ("table-row-group", "table-column-group", "table-header-rows", "table-rows", "table-header-columns",
          "table-columns")  # fmt: skip
LINES = ("solid", "dotted", "dash", "long-dash", "dot-dash", "dot-dot-dash", "wave")


def read_ods(raw: bytes) -> list[Grid]:
    """Every sheet. Raises UnreadableFile."""
    try:
        document = load(io.BytesIO(raw))
        hidden = _styles_with(document, "table-properties", "display", ("false",))
        struck = _styles_with(document, "text-properties", "textlinethroughstyle", LINES)
        return [_grid(table, hidden, struck) for table in document.spreadsheet.getElementsByType(Table)]
    except UnreadableFile:
        raise
    except Exception as error:  # the library raises whatever a damaged file makes it stumble over
        raise UnreadableFile(_("This spreadsheet cannot be read. Save it again, or paste its rows.")) from error


def _styles_with(document, properties: str, attribute: str, values: tuple[str, ...]) -> set[str]:
    """Names of the styles that give an attribute one of the values."""
    rows = (*document.styles.getElementsByType(Style), *document.automaticstyles.getElementsByType(Style))
    return {
        style.getAttribute("name")
        for style in rows
        for child in style.childNodes
        if child.qname[1] == properties and str(child.getAttribute(attribute) or "") in values
    }


def _grid(table, hidden_styles: set[str], struck_styles: set[str]) -> Grid:
    rows: list[list[str]] = []
    hidden: set[int] = set()
    struck: set[int] = set()
    over: dict[int, tuple[str, int]] = {}  # column -> what is merged over its next rows, and over how many
    for row in table.getElementsByType(TableRow):
        cells = _cells(row, over)
        if not any(cells):
            continue
        times = _times(row, "numberrowsrepeated")
        if len(rows) + times > MAX_ROWS:
            raise UnreadableFile(_("This list has more than 2,000 rows."))
        numbers = range(len(rows), len(rows) + times)
        hidden |= set(numbers) if _is_hidden(row) else set()
        struck |= set(numbers) if _is_struck(row, struck_styles) else set()
        rows += [cells] * times
    is_hidden = table.getAttribute("stylename") in hidden_styles
    name = table.getAttribute("name") or ""
    return Grid(name, rows, frozenset(hidden), _hidden_columns(table), frozenset(struck), is_hidden)


def _is_hidden(element) -> bool:
    """Is a row or column hidden, filtered away, or in a group that is folded?"""
    if element.getAttribute("visibility") in ("collapse", "filter"):
        return True
    parent = element.parentNode
    while parent is not None and parent.qname[1] in GROUPS:
        if str(parent.getAttribute("display") or "") == "false":
            return True
        parent = parent.parentNode
    return False


def _hidden_columns(table) -> frozenset[int]:
    hidden: set[int] = set()
    at = 0
    for column in table.getElementsByType(TableColumn):
        times = min(_times(column, "numbercolumnsrepeated"), max(0, MAX_COLUMNS - at))
        hidden |= set(range(at, at + times)) if _is_hidden(column) else set()
        at += times
    return frozenset(hidden)


def _is_struck(row, styles: set[str]) -> bool:
    """Is something of the row struck through, by the style of a cell or of words in it?"""
    named = [cell for cell in row.childNodes if _says(cell)]
    spans = [span for cell in named for span in cell.getElementsByType(Span)]
    return any(element.getAttribute("stylename") in styles for element in (*named, *spans))


def _says(cell) -> bool:
    return getattr(cell, "qname", None) == TableCell().qname and bool(extractText(cell).strip())


def _cells(row, over: dict) -> list[str]:
    texts: list[str] = []
    kinds = {TableCell().qname, CoveredTableCell().qname}
    for cell in row.childNodes:
        if getattr(cell, "qname", None) not in kinds or len(texts) >= MAX_COLUMNS:
            continue
        text = _text(cell) or _merged(over, len(texts), cell)
        if cell.qname == TableCell().qname and _times(cell, "numbercolumnsspanned") == 1:
            over[len(texts)] = (text, _times(cell, "numberrowsspanned") - 1)
        texts += [text] * min(_times(cell, "numbercolumnsrepeated"), MAX_COLUMNS - len(texts))
    return texts


def _merged(over: dict, column: int, cell) -> str:
    """What a cell above is merged over this one; a count is for all of its rows together."""
    text, times = over.get(column, ("", 0))
    if cell.qname != CoveredTableCell().qname or times < 1 or text.isdigit():
        return ""
    over[column] = (text, times - 1)
    return text


def _text(cell) -> str:
    """What the cell shows; a percentage by its value, since what is shown may be rounded, a date in full.
    A formula that was never worked out stands for its result: it is refused where its column is used."""
    if cell.getAttribute("formula") and not cell.getAttribute("valuetype"):
        return unsolved(cell.getAttribute("formula").removeprefix("of:"))
    if cell.getAttribute("valuetype") == "percentage":
        return f"{100 * float(cell.getAttribute('value')):.6g}%"
    if cell.getAttribute("valuetype") == "date":
        return (cell.getAttribute("datevalue") or extractText(cell))[:10]
    return extractText(cell)


def _times(element, name: str) -> int:
    return max(1, int(element.getAttribute(name) or 1))
