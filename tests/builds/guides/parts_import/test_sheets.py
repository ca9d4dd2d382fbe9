"""Spreadsheets as people have them: separators, encodings, formats, and files that are refused."""

import io
import struct
import tracemalloc
import zipfile

import pytest
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table, TableCell, TableRow
from odf.text import P
from openpyxl import Workbook

from builds.guides.parts_import.columns import guess
from builds.guides.parts_import.delimited import read_delimited
from builds.guides.parts_import.errors import UnreadableFile
from builds.guides.parts_import.number_formats import shown_number
from builds.guides.parts_import.packages import open_package
from builds.guides.parts_import.preview import _chosen
from builds.guides.parts_import.sheet import as_text, from_text, read_file, read_text
from builds.guides.parts_import.table import read_table

ROWS = (("Ref", "Value", "Note"), ("R1", "4,7k", "Metal film, 1 %"), ("C1", "0,1µ", "630 V"))
QUOTED = {
    "semicolons, as a German spreadsheet writes them": 'Ref;Value;Note\nR1;4,7k;"Metal film, 1 %"\nC1;0,1µ;630 V',
    "commas with quotes": 'Ref,Value,Note\nR1,"4,7k","Metal film, 1 %"\nC1,"0,1µ",630 V',
    "tabs, as a paste": "Ref\tValue\tNote\nR1\t4,7k\tMetal film, 1 %\nC1\t0,1µ\t630 V",
    "bars": "| Ref | Value | Note |\n|---|---|---|\n| R1 | 4,7k | Metal film, 1 % |\n| C1 | 0,1µ | 630 V |",
    "blank lines and a trailing column": "Ref;Value;Note;\n\nR1;4,7k;Metal film, 1 %;\n\nC1;0,1µ;630 V;\n",
}


@pytest.mark.parametrize("how", QUOTED)
def test_the_separator_is_found(how):
    assert read_text(QUOTED[how]).rows == ROWS


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_the_encoding_is_found(encoding):
    raw = QUOTED["semicolons, as a German spreadsheet writes them"].encode(encoding)
    assert read_file(raw)[0].rows == ROWS


def test_a_row_of_prose_does_not_choose_the_separator():
    assert read_delimited("Bill of parts, second run\nR1;4k7\nR2;1k5\nR3;22k")[1] == ["R1", "4k7"]


def _xlsx(**cells) -> bytes:
    book = Workbook()
    for place, value in cells.items():
        book.active[place] = value
    book.active["B2"].number_format = "0%"
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_a_percentage_of_a_workbook_is_read_as_it_is_shown():
    assert read_file(_xlsx(A1="Ref", B1="Tol", A2="R1", B2=0.05))[0].rows == (("Ref", "Tol"), ("R1", "5%"))


def _table(sheet):
    return read_table(sheet.rows, *guess(sheet.rows))


def test_a_formula_without_a_result_is_refused_in_its_row():
    (sheet,) = read_file(_xlsx(A1="Ref", B1="Value", A2="R1", B2="=1+1", A3="R2", B3="4k7"))
    table = _table(sheet)
    assert [(error.row, error.field) for error in table.errors] == [(2, "value")]
    assert "=1+1" in table.errors[0].message and [part["ref"] for part in table.parts] == ["R2"]


def test_a_formula_without_a_result_in_a_column_that_is_not_used_spoils_nothing():
    """Prices and their sum, as scripts and exports write them without working them out."""
    cells = {"A1": "Ref", "B1": "Value", "C1": "Price", "A2": "R1", "B2": "4k7", "C2": 0.05, "B3": "Sum", "C3": "=C2"}
    table = _table(read_file(_xlsx(**cells))[0])
    assert not table.errors and [part["ref"] for part in table.parts] == ["R1"]


def test_an_opendocument_sheet_is_read_with_its_repeated_cells():
    document = OpenDocumentSpreadsheet()
    table = Table(name="Parts")
    for texts in (("Ref", "Value"), ("R1", "4k7")):
        row = TableRow()
        for text in texts:
            cell = TableCell(valuetype="string")
            cell.addElement(P(text=text))
            row.addElement(cell)
        row.addElement(TableCell(numbercolumnsrepeated=16000))
        table.addElement(row)
    empty = TableRow(numberrowsrepeated=1_000_000)
    empty.addElement(TableCell(numbercolumnsrepeated=16000))
    table.addElement(empty)
    percent = TableRow()
    percent.addElement(TableCell(valuetype="percentage", value="0.01"))
    table.addElement(percent)
    document.spreadsheet.addElement(table)
    out = io.BytesIO()
    document.save(out)
    sheets = read_file(out.getvalue())
    assert (sheets[0].name, sheets[0].rows) == ("Parts", (("Ref", "Value"), ("R1", "4k7"), ("1%", "")))


def _zip(**members) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name.replace("__", "/"), content)
    return out.getvalue()


def _of_many_files(count: int) -> bytes:
    """A zip's list of files alone (PKWARE's APPNOTE, 4.3.12 and 4.3.16)."""
    entry = struct.pack("<4s4B4HL2L5H2L", b"PK\x01\x02", 20, 0, 20, 0, 0, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0) + b"a"
    listed = b"PK\x03\x04" + entry * count
    return listed + struct.pack("<4s4H2LH", b"PK\x05\x06", 0, 0, 65535, 65535, len(listed) - 4, 4, 0)


ENTITIES = b'<!DOCTYPE a [<!ENTITY b "cccccccccc"><!ENTITY d "&b;&b;&b;&b;&b;&b;&b;">]><a>&d;</a>'
DANGEROUS = {
    "a bomb": lambda: _zip(**{"content.xml": b" " * 50_000_000}),
    "entities": lambda: _zip(**{"content.xml": b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>'}),
    "entities after a long comment": lambda: _zip(**{"content.xml": b"<!--" + b" " * 9_000 + b"-->" + ENTITIES}),
    "entities in UTF-16": lambda: _zip(**{"content.xml": ENTITIES.decode().encode("utf-16")}),
    "entities under another name": lambda: _zip(**{"content.xml": b"<a/>", "xl__sheet.txt": ENTITIES}),
    "entities across two reads": lambda: _zip(**{"content.xml": b" " * (2**20 - 5) + ENTITIES}),
    "entities called a picture": lambda: _zip(**{"content.xml": b"<a/>", "word__media__x.png": ENTITIES}),
    "entities called a drawing": lambda: _zip(**{"content.xml": b"<a/>", "word__media__x.svg": ENTITIES}),
    "cells called a picture": lambda: _zip(**{"content.xml": b"<a/>", "media__x.gif": b" <c/>" * 300_000}),
    "cells called a drawing": lambda: _zip(**{"content.xml": b"<a/>", "media__x.svg": b"<c/>" * 300_000}),
    "hundreds of thousands of files": lambda: _of_many_files(300_000),
    "millions of cells": lambda: _zip(**{"content.xml": b"<a>" + b"<c/>" * 300_000 + b"</a>"}),
    "macros": lambda: _zip(**{"xl__workbook.xml": b"<a/>", "xl__vbaProject.bin": b"x"}),
    "links to other files": lambda: _zip(**{"xl__workbook.xml": b"<a/>", "xl__externalLinks__link1.xml": b"<a/>"}),
    "another zip": lambda: _zip(**{"photo.jpg": b"x"}),
    "a broken workbook": lambda: _zip(**{"xl__workbook.xml": b"<a"}),
    "a cut zip": lambda: _xlsx(A1="Ref")[:200],
    "an old binary book": lambda: b"\xd0\xcf\x11\xe0" + b"\0" * 100,
    "binary": lambda: b"R1\0\0\0;4k7",
    "nothing": lambda: b"\n\n  \n",
    "too many rows": lambda: b"R1;4k7\n" * 3_000,
}  # fmt: skip


@pytest.mark.parametrize("what", DANGEROUS)
def test_an_unusable_sheet_is_refused(what):
    with pytest.raises(UnreadableFile):
        read_file(DANGEROUS[what]())


@pytest.mark.parametrize(
    "what", [what for what in DANGEROUS if "entities" in what or "cells" in what or "files" in what]
)
def test_a_dangerous_package_is_refused_before_its_xml_is_read(what):
    with pytest.raises(UnreadableFile):
        open_package(DANGEROUS[what]())


def test_a_list_of_too_many_files_is_refused_unread():
    raw = _of_many_files(300_000)
    tracemalloc.start()
    try:
        with pytest.raises(UnreadableFile):
            open_package(raw)
        assert tracemalloc.get_traced_memory()[1] < 1_000_000
    finally:
        tracemalloc.stop()


def test_a_picture_may_say_what_a_sheet_may_not():
    svg = b'<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" ""><svg/>'
    png = b"\x89PNG\r\n\x1a\n" + ENTITIES + b"<c/>" * 300_000
    with open_package(_zip(**{"content.xml": b"<a/>", "Pictures__1.svg": svg, "Pictures__2.png": png})) as archive:
        assert {"Pictures/1.svg", "Pictures/2.png"} <= set(archive.namelist())


def test_rows_are_carried_to_the_next_page_as_they_are():
    assert from_text(as_text(ROWS)) == ROWS


@pytest.mark.parametrize(
    ("value", "number_format", "shown"),  # as two office programs show them, from memory of ECMA-376, 18.8.30
    [
        (4.7, '0.0" kΩ"', "4.7 kΩ"),
        (4700, '0.0,"k"', "4.7k"),
        (4700, '[>=1000000]0.0,,"M";[>=1000]0.0,"k";0', "4.7k"),
        (2_200_000, '[>=1000000]0.0,,"M";[>=1000]0.0,"k";0', "2.2M"),
        (470, '[>=1000000]0.0,,"M";[>=1000]0.0,"k";0', "470"),
        (8, "0\\R", "8R"),
        (47, 'General" µF"', "47 µF"),
        (1, '"R"0', "R1"),
        (-5, '0" V";-0" V"', "-5 V"),
        (4.68, '0" kΩ"', "4.68 kΩ"),  # all figures, however few are shown
        (0.05, "0%", "5%"),
        (1000, "#,##0.00_);(#,##0.00)", "1000"),
        (3.5, "#,##0.00\\ [$€-407]", "3.5"),
        (47, "General", "47"),
        (40_000_000, "0.00E+00", "4.00E+07"),
    ],
)
def test_a_number_is_read_with_the_unit_its_format_shows(value, number_format, shown):
    assert shown_number(value, number_format) == shown


def test_values_that_only_look_like_kilohms_are_kilohms_in_the_parts_list():
    book = Workbook()
    sheet = book.active
    for row in (["Ref", "Wert", "Spannung"], ["R1", 4.7, None], ["C1", 47, 450], ["R2", 4e7, None]):
        sheet.append(row)
    sheet["B2"].number_format, sheet["B3"].number_format, sheet["C3"].number_format = '0.0" kΩ"', '0" µF"', '0" V"'
    sheet["B4"].number_format = "0.00E+00"  # typed as 4E7, a code for 4.7 ohms
    out = io.BytesIO()
    book.save(out)
    rows = read_file(out.getvalue())[0].rows
    table = read_table(rows, *guess(rows))
    assert [(part["ref"], part["value"]) for part in table.parts] == [("R1", "4.7 kΩ"), ("C1", "47 µF")]
    assert [error.ref for error in table.errors] == ["R2"]


def test_an_old_sheet_with_more_parts_is_not_read_first():
    book = Workbook()
    book.active.title = "Stückliste"
    for row in (["Ref", "Wert"], ["R1", "4k7"], ["R2", "2.200"]):
        book.active.append(row)
    old = book.create_sheet("Alt (nicht verwenden)")
    for row in (["Ref", "Wert"], *([f"R{n}", "9k1"] for n in range(1, 9))):
        old.append(row)
    out = io.BytesIO()
    book.save(out)
    assert _chosen(read_file(out.getvalue()), "").name == "Stückliste"
