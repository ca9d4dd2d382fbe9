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


@pytest.mark.parametrize(
    ("row", "key", "value", "unit"),
    [
        ("R1, R2 (2x);4700;2", "value", 4700, "Ω"),
        ("C1;47;450", "value", 47e-6, "F"),
        ("C1;47;450", "volts", 450, "V"),
        ("R3;100;0,5", "power", 0.5, "W"),
    ],
)
def test_a_column_for_parts_of_several_kinds_gives_each_its_own_unit(row, key, value, unit):
    parts, table = parts_of(read_text(f"Kennz.;Wert (Ω bzw. µF);Belastbarkeit / Spannung [W/V]\n{row}\n"))
    assert not table.errors
    part = next(iter(parts.values()))
    assert parse_quantity(part[key], unit).value == pytest.approx(value)


def test_a_bare_number_that_may_have_either_unit_of_its_column_is_refused():
    _parts, table = parts_of(read_text("Ref;Value (kΩ/µF);Rating\nL1;10;\nR1;4.7;\n"))
    assert [(error.row, error.field) for error in table.errors] == [(2, "value")]


@pytest.mark.parametrize("head", ["Einheit", "Unit", "Einh."])
def test_the_unit_may_have_a_column_of_its_own(head):
    text = f"Pos;Wert;{head}\nR1;4,7;kΩ\nR2;100;Ohm\nC1;47;µF\nC2;100;nF\nR3;2M2;Ω\nH1;;Stk\n"
    parts, table = parts_of(read_text(text))
    assert [error.row for error in table.errors] == []
    values = {ref: parse_quantity(parts[ref]["value"]).value for ref in ("R1", "R2", "C1", "C2", "R3")}
    assert values == pytest.approx({"R1": 4700, "R2": 100, "C1": 47e-6, "C2": 1e-7, "R3": 2.2e6})


def test_a_unit_that_nobody_knows_is_refused_and_pieces_are_none():
    _parts, table = parts_of(read_text("Ref;Value;Unit\nR1;4.7;kilowhat\nR2;100;pcs\n"))
    assert [(error.row, error.field) for error in table.errors] == [(2, "unit")]
    assert parts_of(read_text("Ref;Value;Unit\nR2;100;pcs\n"))[0]["R2"]["value"] == "100"


@pytest.mark.parametrize("words", ["Zwischensumme", "Teilsumme Netzteil", "Sub-total", "Sous-total", "Übertrag"])
def test_a_sum_on_the_way_is_no_part(words):
    parts, table = parts_of(read_text(f"Ref;Wert;Anzahl\nR1;1k;1\n{words};;7\nR2;2k;1\n"))
    assert (list(parts), table.errors, table.skipped) == (["R1", "R2"], [], [3])


OHMS = {"R1": 4700, "R2": 1e6}


@pytest.mark.parametrize(
    "text",
    [
        "Ref;Wert;;Tol\nR1;4,7;kΩ;1%\nR2;1;MΩ;1%",  # one head over both columns
        "Ref;Wert;;Tol\nR1;4,7;k;1%\nR2;1;M;1%",
        "R1;4,7;kΩ\nR2;1;MΩ",
        "Ref;Wert;Tol;P\n;kΩ;%;W\nR1;4,7;1;0,6\nR2;1000;1;0,6",  # units in a second row of the head
        "Ref;Wert;Tol;P\n;[kΩ];[±%];[W]\nR1;4,7;1;0,6\nR2;1000;1;0,6",
        "Widerstände [kΩ];\nR1;4,7\nWiderstände [MΩ];\nR2;1,0",  # units in the headings between
        "Ref;Wert\n;Widerstände [kΩ]\nR1;4,7\n;Widerstände [MΩ]\nR2;1",
        "Ref;Wert [Ω]\n;Widerstände in kΩ\nR1;4,7\nR2;1000",
    ],
)
def test_the_unit_of_a_bare_number_is_found_wherever_the_list_has_it(text):
    parts, table = parts_of(read_text(text))
    assert not table.errors
    assert {ref: parse_quantity(part["value"], "Ω").value for ref, part in parts.items()} == pytest.approx(OHMS)


def test_a_heading_without_a_unit_ends_the_one_before():
    parts, _table = parts_of(read_text("Ref;Wert\nWiderstände [kΩ];\nR1;4,7\nHeizung;\nR2;100"))
    assert [parse_quantity(parts[ref]["value"], "Ω").value for ref in ("R1", "R2")] == [4700, 100]


def test_letters_of_a_tolerance_are_no_units():
    assert guess(read_text("Ref;Value;\nR1;4700;J\nR2;100;F\nR3;47;J").rows)[0] == ["ref", "value", ""]


def test_what_a_title_says_of_all_parts_is_named_as_not_read():
    sheet = read_text("Amsel, Stand 3;\nAlle Widerstände 1 %, 0,6 W;\nRef;Wert\nR1;4k7\nR2;1k")
    assert any("Alle Widerstände 1 %" in remark for remark in sheet.remarks)
    assert not read_text("Amsel, Stand 3;\nRef;Wert\nR1;4k7").remarks


def test_wire_by_the_metre_is_hardware_with_its_length_in_the_note():
    parts, table = parts_of(read_text("Ref;Stk;Wert;Bemerkung\nR1;1;1k;\n;0,5;;Schaltdraht, m\n;2 m;;Litze"))
    assert not table.errors and [parts[ref]["note"] for ref in ("H1", "H2")] == ["Schaltdraht, m; 0,5", "Litze; 2 m"]
    _parts, refused = parts_of(read_text("Ref;Stk;Wert\nR1;0,5;1k"))
    assert [error.field for error in refused.errors] == ["quantity"]
