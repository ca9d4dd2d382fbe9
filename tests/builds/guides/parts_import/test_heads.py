"""Parts lists with titles above their head, heads over two rows, and units that only the head names."""

import io

import pytest
from openpyxl import Workbook

from builds.guides.parts_import.columns import guess
from builds.guides.parts_import.heads import split_head, with_unit
from builds.guides.parts_import.sheet import read_file, read_text
from builds.guides.parts_import.table import read_table
from checks.quantity import parse_quantity


def parts_of(sheet):
    table = read_table(sheet.rows, *guess(sheet.rows))
    return {part["ref"]: part for part in table.parts}, table


def merged_workbook() -> bytes:
    """A title, a head of two rows with merged cells, a section heading, and a sum at the end."""
    book = Workbook()
    sheet = book.active
    sheet.append(["Bausatz Linienstufe, Stand 3"])
    sheet.merge_cells("A1:G1")
    sheet.append(["Bauteil", None, "Wert", None, "Belastbarkeit", None, "Beutel"])
    for cells in ("A2:B2", "C2:D2", "E2:F2"):
        sheet.merge_cells(cells)
    sheet.append(["Ref.", "Bezeichnung", "Wert", "Tol. [%]", "Leistung [W]", "Spannung [V]", "Nr."])
    sheet.append(["Widerstände"])
    sheet.append(["R1-R4,R7", "Metallschicht", "4,7 kΩ", 1, 0.6, None, 1])
    sheet.append(["C1, C2", "Elko", "47 µF", 20, None, 450, 2])
    sheet.append(["V1", "Röhre ECC83", None, None, None, None, 3])
    sheet.append(["D1", "1N4007", None, None, None, 1000, 2])
    sheet.append(["Summe", None, None, None, None, None, 8])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_a_list_with_a_title_and_a_head_of_two_rows_is_read():
    parts, table = parts_of(read_file(merged_workbook())[0])
    assert not table.errors
    assert set(parts) == {"R1", "R2", "R3", "R4", "R7", "C1", "C2", "V1", "D1"}
    assert parts["R7"] | {"tolerance": "1%", "power": "0.6 W", "bag": "1"} == parts["R7"]
    assert (parts["C2"]["volts"], parts["V1"]["type"], parts["V1"]["base"]) == ("450 V", "ECC83", "B9A")
    assert parts["D1"]["type"] == "1N4007"


def test_a_bare_number_has_the_unit_of_its_head():
    text = "Pos;Bauteil;Wert [kOhm];Strom (mA)\n1;R1-R3;4,7;\n2;R9;0,047;\n3;F1;;500\n"
    parts, table = parts_of(read_text(text))
    assert not table.errors
    assert parse_quantity(parts["R1"]["value"], "Ω").value == 4700
    assert parse_quantity(parts["R9"]["value"], "Ω").value == pytest.approx(47)
    assert parse_quantity(parts["F1"]["value"], "A").value == pytest.approx(0.5)  # never 500 A


def test_a_value_that_says_its_own_unit_keeps_it():
    parts, _table = parts_of(read_text("Ref;Wert [kOhm]\nR1;470R\nR2;1M\n"))
    assert (parts["R1"]["value"], parts["R2"]["value"]) == ("470R", "1M")


def test_a_capacitor_in_a_column_of_kilohms_is_refused():
    _parts, table = parts_of(read_text("Ref;Wert [kOhm]\nR1;4,7\nC1;47\n"))
    assert [error.ref for error in table.errors] == ["C1"]


def test_a_list_without_a_head_loses_no_row():
    parts, _table = parts_of(read_text("R1;4k7;1%\nR2;1M;5%\n"))
    assert set(parts) == {"R1", "R2"}


@pytest.mark.parametrize(
    ("head", "split"),
    [
        ("Wert [kOhm]", ("Wert", "kΩ")),
        ("Toleranz in %", ("Toleranz", "%")),
        ("P (W)", ("P", "W")),
        ("Value", ("Value", "")),
        ("Note (see page 3)", ("Note (see page 3)", "")),
    ],
)
def test_a_head_is_split_into_its_name_and_unit(head, split):
    assert split_head(head) == split


def test_only_a_bare_number_takes_the_unit():
    assert with_unit("4,7", "kΩ") == "4,7 kΩ"
    assert [with_unit(cell, "kΩ") for cell in ("4k7", "", "2x4,7")] == ["4k7", "", "2x4,7"]
