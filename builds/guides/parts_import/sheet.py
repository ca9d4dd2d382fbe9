"""Rows of cells from what a designer pastes or uploads: CSV, TSV, XLSX or ODS."""

import datetime
import io
import re
from dataclasses import dataclass
from itertools import repeat, zip_longest
from unicodedata import normalize

from django.utils.translation import gettext as _
from openpyxl import load_workbook
from openpyxl.utils.cell import range_boundaries

from builds.guides.parts_import.columns import below_titles
from builds.guides.parts_import.delimited import MAX_CELL, MAX_COLUMNS, MAX_ROWS, decode_with, read_delimited
from builds.guides.parts_import.errors import UnreadableFile
from builds.guides.parts_import.figures import unsolved
from builds.guides.parts_import.hidden import Grid, hidden_columns, hidden_rows, sheets_left_out, with_hidden
from builds.guides.parts_import.number_formats import shown_number
from builds.guides.parts_import.ods import read_ods
from builds.guides.parts_import.packages import open_package

_EMPTY_FORMULA = re.compile(
    rb"<(?:\w+:)?c [^>]*>\s*<(?:\w+:)?f\b[^>]*(?:/>|>[^<]*</(?:\w+:)?f>)\s*"
    rb"(?:<(?:\w+:)?v\s*/>|<(?:\w+:)?v></(?:\w+:)?v>)?\s*</(?:\w+:)?c>"
)
_MERGED = re.compile(rb'<(?:\w+:)?mergeCell [^>]*ref="([A-Z]{1,3}[0-9]{1,7}:[A-Z]{1,3}[0-9]{1,7})"')

_OF_ALL = re.compile(r"[^\W\d_]{3,}.*\d\s*(?:%|[WVA]\b|[kM]?Ω)|[^\W\d_]{3,}.*\bin [kM]?(?:Ω|ohms?)\b", re.IGNORECASE)


@dataclass(frozen=True)
class Sheet:
    """One sheet of a file: its name ("" for text) and its rows as text."""

    name: str
    rows: tuple[tuple[str, ...], ...]
    page: str = ""  # the code page that its text was taken to be in, where that had to be guessed
    remarks: tuple[str, ...] = ()  # what was left out of it, in sentences
    is_first_choice: bool = True  # unless its maker hid something of it


def read_file(raw: bytes) -> list[Sheet]:
    """Every sheet with something in it. Raises UnreadableFile."""
    if raw.startswith(b"PK"):
        return _good(_sheets(_read_package(raw)))
    if raw.startswith(b"\xd0\xcf\x11\xe0"):
        raise UnreadableFile(_("This is an old binary spreadsheet, or one with a password. Save it as XLSX or ODS."))
    text, page = decode_with(raw)
    rows, said = _list_of(trimmed(read_delimited(text)))
    return _good([Sheet("", rows, page, said)])


def _good(sheets: list[Sheet]) -> list[Sheet]:
    sheets = [sheet for sheet in sheets if sheet.rows]
    if not sheets:
        raise UnreadableFile(_("No rows were found."))
    return sheets


def _sheets(grids: list[Grid]) -> list[Sheet]:
    """What its maker sees of a file; beside it, to be chosen, each sheet with what is hidden in it."""
    shown = [grid for grid in grids if not grid.is_hidden] or grids
    hidden = sheets_left_out([grid.name for grid in grids if grid not in shown])
    sheets: list[Sheet] = []
    for grid in shown:
        left_out, struck = grid.left_out(), grid.struck_through()
        rows, said = _list_of(trimmed(grid.shown()))
        sheets.append(Sheet(grid.name, rows, remarks=(*hidden, *left_out, *struck, *said)))
        if left_out:
            rows, said = _list_of(trimmed(grid.rows))
            sheets.append(Sheet(with_hidden(grid.name), rows, remarks=(*hidden, *struck, *said), is_first_choice=False))
    return sheets


def read_text(text: str) -> Sheet:
    """What was pasted. Raises UnreadableFile for nothing."""
    rows, said = _list_of(trimmed(read_delimited(text)))
    if not rows:
        raise UnreadableFile(_("No rows were found."))
    return Sheet("", rows, remarks=said)


def _list_of(rows) -> tuple[tuple[tuple[str, ...], ...], tuple[str, ...]]:
    """(the rows from the head on, what a row above it says of all parts, in a sentence): "All resistors 1 %" goes into
    no part."""
    kept = below_titles(rows)
    above = [cell for row in rows[: len(rows) - len(kept)] for cell in row if _OF_ALL.search(cell)]
    if not above:
        return kept, ()
    left = _("Not read, above the list: %(words)s. Enter what it says in the rows of the parts.")
    return kept, (left % {"words": " · ".join(cell[:120] for cell in above[:3])},)


def as_text(rows) -> str:
    """Rows as they are carried from one page to the next: cells between tabs, one row a line."""
    return "\n".join("\t".join(_one_line(cell) for cell in row) for row in rows)


def from_text(text: str) -> tuple[tuple[str, ...], ...]:
    """The rows that `as_text` wrote, or somebody changed since."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")[:MAX_ROWS]
    return trimmed([line.split("\t")[:MAX_COLUMNS] for line in lines])


def _one_line(cell: str) -> str:
    return " ".join(cell.split())


def trimmed(rows) -> tuple[tuple[str, ...], ...]:
    """Cells as one line of text each; without empty rows, and without columns that are empty throughout."""
    cells = [[_one_line(normalize("NFC", str(cell)))[:MAX_CELL] for cell in row] for row in rows]
    cells = [row for row in cells if any(row)]
    width = max((len(row) for row in cells), default=0)
    cells = [row + [""] * (width - len(row)) for row in cells]
    used = [n for n in range(width) if any(row[n] for row in cells)]
    return tuple(tuple(row[n] for n in used) for row in cells)


def _read_package(raw: bytes) -> list[Grid]:
    with open_package(raw) as archive:
        names = set(archive.namelist())
        if "xl/workbook.xml" in names:
            return _read_xlsx(raw, archive)
        if "content.xml" in names:
            return read_ods(raw)
    raise UnreadableFile(_("This is neither a spreadsheet nor text. Accepted: CSV, TSV, XLSX and ODS."))


def _has_empty_formulas(archive) -> bool:
    return any(
        name.startswith("xl/worksheets/") and _EMPTY_FORMULA.search(archive.read(name)) for name in archive.namelist()
    )


def _read_xlsx(raw: bytes, archive) -> list[Grid]:
    try:
        book = load_workbook(io.BytesIO(raw), read_only=True, data_only=True, keep_links=False)
        formulas = load_workbook(io.BytesIO(raw), read_only=True) if _has_empty_formulas(archive) else None
        return [_xlsx_grid(archive, sheet, formulas) for sheet in book.worksheets]
    except UnreadableFile:
        raise
    except Exception as error:  # the library raises whatever a damaged file makes it stumble over
        raise UnreadableFile(_("This spreadsheet cannot be read. Save it again, or paste its rows.")) from error


def _xlsx_grid(archive, sheet, formulas=None) -> Grid:
    path = getattr(sheet, "_worksheet_path", "").lstrip("/")
    xml = archive.read(path) if path in archive.namelist() else b""
    if sheet.sheet_state != "visible":
        return Grid(sheet.title, _xlsx_rows(sheet, _merged_down(xml), formulas)[0], is_hidden=True)
    rows, struck = _xlsx_rows(sheet, _merged_down(xml), formulas)
    return Grid(sheet.title, rows, hidden_rows(xml), hidden_columns(xml, MAX_COLUMNS), struck)


def _merged_down(xml: bytes) -> dict[tuple[int, int], int]:
    """(row, column) -> the row whose cell is merged over it, for cells merged downwards in one column."""
    merged: dict[tuple[int, int], int] = {}
    for match in _MERGED.finditer(xml):
        left, top, right, bottom = range_boundaries(match[1].decode())
        if left == right and left <= MAX_COLUMNS:
            merged |= {(row, left): top for row in range(top + 1, min(bottom, MAX_ROWS) + 1)}
    return merged


def _xlsx_rows(sheet, merged: dict, formulas=None) -> tuple[list[list[str]], frozenset[int]]:
    """(the rows, the numbers from 0 of those that are struck through). A formula that was never worked out stands for
    its result: it is refused where its column is used."""
    rows: list[list[str]] = []
    struck: set[int] = set()
    written = formulas[sheet.title].iter_rows(max_col=MAX_COLUMNS, values_only=True) if formulas else repeat(())
    for row, typed in zip(sheet.iter_rows(max_col=MAX_COLUMNS), written, strict=False):
        cells = [_cell(cell.value, getattr(cell, "number_format", "")) for cell in row]
        if formulas:
            cells = [cell or unsolved(value) for cell, value in zip_longest(cells, typed[: len(cells)], fillvalue="")]
        for column in [c for (n, c) in merged if n == len(rows) + 1 and c <= len(cells)] if merged else ():
            over = rows[merged[len(rows) + 1, column] - 1][column - 1]
            cells[column - 1] = cells[column - 1] or ("" if over.isdigit() else over)  # a count is for all of them
        if any(cell.value is not None and cell.font and cell.font.strike for cell in row if hasattr(cell, "font")):
            struck.add(len(rows))
        rows.append(cells)
        if len(rows) > MAX_ROWS:
            if any(any(cells) for cells in rows[MAX_ROWS:]):
                raise UnreadableFile(_("This list has more than 2,000 rows."))
            break
    return rows, frozenset(struck)


def _cell(value, number_format: str) -> str:
    """A cell as a person reads it: 0.05 in a percent format is 5%, 4.7 in a format with a unit is 4.7 kΩ."""
    if value is None or isinstance(value, bool):
        return ""
    if isinstance(value, datetime.date):
        return value.strftime("%Y-%m-%d")
    if isinstance(value, int | float):
        return shown_number(value, number_format)
    return str(value)
