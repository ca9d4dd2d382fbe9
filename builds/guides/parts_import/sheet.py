"""Rows of cells from what a designer pastes or uploads: CSV, TSV, XLSX or ODS."""

import datetime
import io
import re
from dataclasses import dataclass

from django.utils.translation import gettext as _
from openpyxl import load_workbook
from openpyxl.utils.cell import range_boundaries

from builds.guides.parts_import.columns import below_titles
from builds.guides.parts_import.delimited import MAX_CELL, MAX_COLUMNS, MAX_ROWS, decode_with, read_delimited
from builds.guides.parts_import.errors import UnreadableFile
from builds.guides.parts_import.ods import read_ods
from builds.guides.parts_import.packages import open_package

_EMPTY_FORMULA = re.compile(rb"<c [^>]*>\s*<f[^>]*(?:/>|>[^<]*</f>)\s*(?:<v\s*/>|<v></v>)?\s*</c>")
_MERGED = re.compile(rb'<mergeCell [^>]*ref="([A-Z]{1,3}[0-9]{1,7}:[A-Z]{1,3}[0-9]{1,7})"')


@dataclass(frozen=True)
class Sheet:
    """One sheet of a file: its name ("" for text) and its rows as text."""

    name: str
    rows: tuple[tuple[str, ...], ...]
    page: str = ""  # the code page that its text was taken to be in, where that had to be guessed


def read_file(raw: bytes) -> list[Sheet]:
    """Every sheet with something in it. Raises UnreadableFile."""
    page = ""
    if raw.startswith(b"PK"):
        tables = _read_package(raw)
    elif raw.startswith(b"\xd0\xcf\x11\xe0"):
        raise UnreadableFile(_("This is an old binary spreadsheet, or one with a password. Save it as XLSX or ODS."))
    else:
        text, page = decode_with(raw)
        tables = [("", read_delimited(text))]
    sheets = [Sheet(name, below_titles(trimmed(rows)), page) for name, rows in tables]
    sheets = [sheet for sheet in sheets if sheet.rows]
    if not sheets:
        raise UnreadableFile(_("No rows were found."))
    return sheets


def read_text(text: str) -> Sheet:
    """What was pasted. Raises UnreadableFile for nothing."""
    rows = below_titles(trimmed(read_delimited(text)))
    if not rows:
        raise UnreadableFile(_("No rows were found."))
    return Sheet("", rows)


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
    cells = [[_one_line(str(cell))[:MAX_CELL] for cell in row] for row in rows]
    cells = [row for row in cells if any(row)]
    width = max((len(row) for row in cells), default=0)
    cells = [row + [""] * (width - len(row)) for row in cells]
    used = [n for n in range(width) if any(row[n] for row in cells)]
    return tuple(tuple(row[n] for n in used) for row in cells)


def _read_package(raw: bytes) -> list[tuple[str, list[list[str]]]]:
    with open_package(raw) as archive:
        names = set(archive.namelist())
        if "xl/workbook.xml" in names:
            _refuse_empty_formulas(archive)
            return _read_xlsx(raw, archive)
        if "content.xml" in names:
            return read_ods(raw)
    raise UnreadableFile(_("This is neither a spreadsheet nor text. Accepted: CSV, TSV, XLSX and ODS."))


def _refuse_empty_formulas(archive) -> None:
    for name in archive.namelist():
        if name.startswith("xl/worksheets/") and _EMPTY_FORMULA.search(archive.read(name)):
            raise UnreadableFile(
                _("This spreadsheet has formulas without results. Open it, save it again, and upload that.")
            )


def _read_xlsx(raw: bytes, archive) -> list[tuple[str, list[list[str]]]]:
    try:
        book = load_workbook(io.BytesIO(raw), read_only=True, data_only=True, keep_links=False)
        shown = [sheet for sheet in book.worksheets if sheet.sheet_state == "visible"]
        return [(sheet.title, _xlsx_rows(sheet, _merged_down(archive, sheet))) for sheet in shown or book.worksheets]
    except UnreadableFile:
        raise
    except Exception as error:  # the library raises whatever a damaged file makes it stumble over
        raise UnreadableFile(_("This spreadsheet cannot be read. Save it again, or paste its rows.")) from error


def _merged_down(archive, sheet) -> dict[tuple[int, int], int]:
    """(row, column) -> the row whose cell is merged over it, for cells merged downwards in one column."""
    path = getattr(sheet, "_worksheet_path", "").lstrip("/")
    merged: dict[tuple[int, int], int] = {}
    for match in _MERGED.finditer(archive.read(path) if path in archive.namelist() else b""):
        left, top, right, bottom = range_boundaries(match[1].decode())
        if left == right and left <= MAX_COLUMNS:
            merged |= {(row, left): top for row in range(top + 1, min(bottom, MAX_ROWS) + 1)}
    return merged


def _xlsx_rows(sheet, merged: dict) -> list[list[str]]:
    rows: list[list[str]] = []
    for row in sheet.iter_rows(max_col=MAX_COLUMNS):
        cells = [_cell(cell.value, getattr(cell, "number_format", "")) for cell in row]
        for column in [c for (n, c) in merged if n == len(rows) + 1 and c <= len(cells)] if merged else ():
            over = rows[merged[len(rows) + 1, column] - 1][column - 1]
            cells[column - 1] = cells[column - 1] or ("" if over.isdigit() else over)  # a count is for all of them
        rows.append(cells)
        if len(rows) > MAX_ROWS:
            if any(any(cells) for cells in rows[MAX_ROWS:]):
                raise UnreadableFile(_("This list has more than 2,000 rows."))
            break
    return rows


def _cell(value, number_format: str) -> str:
    """A cell as a person reads it: 0.05 in a percent format is 5%."""
    if value is None or isinstance(value, bool):
        return ""
    if isinstance(value, datetime.date):
        return value.strftime("%Y-%m-%d")
    if isinstance(value, int | float):
        if "%" in (number_format or ""):
            return f"{100 * value:.6g}%"
        return f"{value:.12g}"
    return str(value)
