"""What a spreadsheet hides is not read unseen: rows filtered away, folded or of no height, columns, sheets, and parts
that are struck through. Attributes by ECMA-376 (18.3.1.13, 18.3.1.73) and ISO/IEC 26300 (19.749), read in a workbook
written by openpyxl and in one written by hand as other programs write it."""

import io
import zipfile

import pytest
from odf.opendocument import OpenDocumentSpreadsheet
from odf.style import Style, TableProperties, TextProperties
from odf.table import Table, TableCell, TableColumn, TableRow, TableRowGroup
from odf.text import P
from openpyxl import Workbook
from openpyxl.styles import Font

from builds.guides.parts_import.figures import refuse_spoiled
from builds.guides.parts_import.sheet import read_file
from checks.errors import ChecksError

ROWS = (("Ref", "Value", "Old value"), ("R1", "4k7", "5k6"), ("R2", "1k5", "2k2"), ("C1", "100n", ""))
SHOWN = (("Ref", "Value"), ("R1", "4k7"), ("C1", "100n"))
EVERYTHING = ROWS


def _hide_row(book):
    book["Parts"].row_dimensions[3].hidden = True


def _fold_row(book):
    book["Parts"].row_dimensions.group(3, 3, hidden=True)


def _workbook(hide_row) -> bytes:
    book = Workbook()
    book.active.title = "Parts"
    for row in ROWS:
        book["Parts"].append(row)
    hide_row(book)
    book["Parts"].column_dimensions["C"].hidden = True
    old = book.create_sheet("Old list")
    for row in (("Ref", "Value"), *((f"R{n}", "10k") for n in range(1, 30))):
        old.append(row)
    old.sheet_state = "hidden"
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _rewritten(raw: bytes, change) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(raw)) as was, zipfile.ZipFile(out, "w") as now:
        for name in was.namelist():
            xml = was.read(name)
            now.writestr(name, change(xml) if name == "xl/worksheets/sheet1.xml" else xml)
    return out.getvalue()


def _flattened(xml: bytes) -> bytes:
    assert xml.count(b'<row r="3" hidden="1">') == 1
    return xml.replace(b'<row r="3" hidden="1">', b'<row r="3" ht="0" customHeight="1">')


def _prefixed(xml: bytes) -> bytes:
    """Every element under a prefix and truth as a word, as some programs write it."""
    for was, now in ((b"</", b"<\1"), (b"<", b"<x:"), (b"<x:\1", b"</x:"), (b" xmlns=", b" xmlns:x=")):
        xml = xml.replace(was, now)
    return xml.replace(b'hidden="1"', b"hidden='true'")


def _opendocument(*, row=None, group=None) -> bytes:
    document = OpenDocumentSpreadsheet()
    hidden = Style(name="gone", family="table")
    hidden.addElement(TableProperties(display="false"))
    document.automaticstyles.addElement(hidden)
    table = Table(name="Parts")
    table.addElement(TableColumn(numbercolumnsrepeated=2))
    table.addElement(TableColumn(visibility="collapse"))
    table.addElement(TableColumn(numbercolumnsrepeated=1021))
    for texts in ROWS:
        is_left_out = texts[0] == "R2"
        line = TableRow(**({"visibility": row} if is_left_out and row else {}))
        for text in texts:
            cell = TableCell(valuetype="string")
            cell.addElement(P(text=text))
            line.addElement(cell)
        if is_left_out and group:
            folded = TableRowGroup(display="false")
            folded.addElement(line)
            line = folded
        table.addElement(line)
    document.spreadsheet.addElement(table)
    old = Table(name="Old list", stylename="gone")
    line = TableRow()
    line.addElement(TableCell(valuetype="string"))
    line.childNodes[0].addElement(P(text="R1"))
    old.addElement(line)
    document.spreadsheet.addElement(old)
    out = io.BytesIO()
    document.save(out)
    return out.getvalue()


HIDING = {
    "a hidden row": lambda: _workbook(_hide_row),
    "a row of no height": lambda: _rewritten(_workbook(_hide_row), _flattened),
    "a folded row": lambda: _workbook(_fold_row),
    "elements with a prefix": lambda: _rewritten(_workbook(_hide_row), _prefixed),
    "a hidden row of an opendocument sheet": lambda: _opendocument(row="collapse"),
    "a filtered row of an opendocument sheet": lambda: _opendocument(row="filter"),
    "a folded group of an opendocument sheet": lambda: _opendocument(group=True),
}


@pytest.mark.parametrize("what", HIDING)
def test_what_is_hidden_is_left_out_with_a_word_and_can_be_chosen(what):
    shown, whole = read_file(HIDING[what]())
    assert shown.rows == SHOWN
    assert shown.remarks == (
        "1 hidden sheet was not read: Old list.",
        "1 hidden row was not read: R2.",
        "1 hidden column was not read: Old value.",
    )
    assert whole.rows == EVERYTHING and not whole.is_first_choice
    assert whole.remarks == ("1 hidden sheet was not read: Old list.",)


def test_hidden_rows_that_say_nothing_are_not_mentioned():
    book = Workbook()
    for row in (("Ref", "Value"), ("R1", "4k7"), ("R2", "1k5")):
        book.active.append(row)
    book.active.row_dimensions[9].hidden = True
    book.active.column_dimensions["F"].hidden = True
    out = io.BytesIO()
    book.save(out)
    (sheet,) = read_file(out.getvalue())
    assert sheet.remarks == () and len(sheet.rows) == 3


def test_a_book_of_which_everything_is_hidden_is_read_whole():
    book = Workbook()
    for row in (("Ref", "Value"), ("R1", "4k7")):
        book.active.append(row)
    for n in (1, 2):
        book.active.row_dimensions[n].hidden = True
    out = io.BytesIO()
    book.save(out)
    assert [sheet.rows for sheet in read_file(out.getvalue())] == [(("Ref", "Value"), ("R1", "4k7"))]


def test_a_row_that_is_struck_through_is_named():
    book = Workbook()
    for row in (("Ref", "Value"), ("R1", "4k7"), ("R2", "1k5")):
        book.active.append(row)
    book.active["A3"].font = Font(strike=True)
    out = io.BytesIO()
    book.save(out)
    (sheet,) = read_file(out.getvalue())
    assert sheet.remarks == ("1 row is struck through and was read all the same: R2.",)


def test_a_row_of_an_opendocument_sheet_that_is_struck_through_is_named():
    document = OpenDocumentSpreadsheet()
    struck = Style(name="ce1", family="table-cell")
    struck.addElement(TextProperties(textlinethroughstyle="solid"))
    document.automaticstyles.addElement(struck)
    table = Table(name="Parts")
    for texts in (("Ref", "Value"), ("R1", "4k7"), ("R2", "1k5")):
        row = TableRow()
        for text in texts:
            cell = TableCell(valuetype="string", **({"stylename": "ce1"} if texts[0] == "R2" else {}))
            cell.addElement(P(text=text))
            row.addElement(cell)
        table.addElement(row)
    document.spreadsheet.addElement(table)
    out = io.BytesIO()
    document.save(out)
    (sheet,) = read_file(out.getvalue())
    assert sheet.remarks == ("1 row is struck through and was read all the same: R2.",)


def test_a_formula_of_an_opendocument_sheet_without_a_result_is_no_value():
    document = OpenDocumentSpreadsheet()
    table, row = Table(name="Parts"), TableRow()
    ref = TableCell(valuetype="string")
    ref.addElement(P(text="R1"))
    row.addElement(ref)
    row.addElement(TableCell(formula="of:=[.A1]"))
    table.addElement(row)
    document.spreadsheet.addElement(table)
    out = io.BytesIO()
    document.save(out)
    (sheet,) = read_file(out.getvalue())
    assert sheet.rows == (("R1", "=[.A1]"),)
    with pytest.raises(ChecksError) as refused:
        refuse_spoiled({"ref": "R1", "value": sheet.rows[0][1]})
    assert refused.value.code == "cell-error"
