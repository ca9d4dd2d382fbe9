"""Rows of an OpenDocument spreadsheet (ISO/IEC 26300), repeated cells and rows spelled out only where they say
something."""

import io

from django.utils.translation import gettext as _
from odf.opendocument import load
from odf.table import CoveredTableCell, Table, TableCell, TableRow
from odf.teletype import extractText

from builds.guides.parts_import.delimited import MAX_COLUMNS, MAX_ROWS
from builds.guides.parts_import.errors import UnreadableFile


def read_ods(raw: bytes) -> list[tuple[str, list[list[str]]]]:
    """[(sheet's name, its rows)]. Raises UnreadableFile."""
    try:
        document = load(io.BytesIO(raw))
        tables = document.spreadsheet.getElementsByType(Table)
        return [(table.getAttribute("name") or "", _rows(table)) for table in tables]
    except UnreadableFile:
        raise
    except Exception as error:  # the library raises whatever a damaged file makes it stumble over
        raise UnreadableFile(_("This spreadsheet cannot be read. Save it again, or paste its rows.")) from error


def _rows(table) -> list[list[str]]:
    rows: list[list[str]] = []
    over: dict[int, tuple[str, int]] = {}  # column -> what is merged over its next rows, and over how many
    for row in table.getElementsByType(TableRow):
        cells = _cells(row, over)
        if not any(cells):
            continue
        times = _times(row, "numberrowsrepeated")
        if len(rows) + times > MAX_ROWS:
            raise UnreadableFile(_("This list has more than 2,000 rows."))
        rows += [cells] * times
    return rows


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
    """What the cell shows; a percentage by its value, since what is shown may be rounded, a date in full."""
    if cell.getAttribute("valuetype") == "percentage":
        return f"{100 * float(cell.getAttribute('value')):.6g}%"
    if cell.getAttribute("valuetype") == "date":
        return (cell.getAttribute("datevalue") or extractText(cell))[:10]
    return extractText(cell)


def _times(element, name: str) -> int:
    return max(1, int(element.getAttribute(name) or 1))
