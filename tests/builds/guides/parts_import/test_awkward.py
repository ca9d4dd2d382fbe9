"""Spreadsheets as they come: each read as its author meant it, or refused at the row that leaves a doubt.

What each should say is common practice in parts lists; the values follow IEC 60062 and the SI prefixes.
"""

import datetime
import io

import pytest
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import CoveredTableCell, Table, TableCell, TableRow
from odf.text import P
from openpyxl import Workbook
from openpyxl.styles import Font

from builds.guides.parts_import.bases import named_base
from builds.guides.parts_import.columns import guess
from builds.guides.parts_import.delimited import decode
from builds.guides.parts_import.errors import UnreadableFile
from builds.guides.parts_import.sheet import read_file, read_text
from builds.guides.parts_import.table import read_table
from builds.guides.text_import.documents import read_document
from checks.quantity import parse_quantity


def book(rows, *, merged=(), then=lambda made: None) -> bytes:
    made = Workbook()
    for row in rows:
        made.active.append(row)
    for cells in merged:
        made.active.merge_cells(cells)
    then(made)
    out = io.BytesIO()
    made.save(out)
    return out.getvalue()


def read(raw):
    """({reference: part}, [(row, field) of each error])."""
    sheet = read_text(raw) if isinstance(raw, str) else read_file(raw)[0]
    table = read_table(sheet.rows, *guess(sheet.rows))
    return {part["ref"]: part for part in table.parts}, [(error.row, error.field) for error in table.errors]


def with_hidden_sheet(made):
    old = made.create_sheet("Before", 0)
    old.sheet_state = "hidden"
    for n in range(30):
        old.append([f"R{n + 1}", "9k9"])


def with_bold_far_away(made):
    for n in range(1, 100):
        made.active.cell(row=500, column=n).font = Font(bold=True)


READ = {
    "head on row 5": (
        book([["Phono"], ["Rev", "C"], ["Date", datetime.date(2026, 3, 1)], [None], ["Ref", "Value"], ["R1", "4k7"]]),
        {"R1": 4700},
    ),
    "cells merged downwards": (
        book([["Ref", "Value", "Use"], ["R1", "4k7", "a"], ["R2", None, "b"], ["R3", "1k", "c"]], merged=["B2:B3"]),
        {"R1": 4700, "R2": 4700, "R3": 1000},
    ),
    "units in the head": (book([["Designator", "R (kΩ)"], ["R1", 4.7], ["R2", 100]]), {"R1": 4700, "R2": 100_000}),
    "a column of references for each channel": (
        "Ref L;Ref R;Value\nR101;R201;4k7\nC101;C201;22n 400V",
        {"R101": 4700, "R201": 4700, "C101": 22e-9, "C201": 22e-9},
    ),
    "pages with their heads again": (
        "Ref;Value\nR1;1k\n\nPage 2\nRef;Value\nR3;3k3\nPage 3 of 3\n",
        {"R1": 1000, "R3": 3300},
    ),
    "dots and slashes": ("Ref,Value\nR1..R4,4k7\nC1/C2,22n 400V", dict.fromkeys(("R1", "R2", "R3", "R4"), 4700) | {
        "C1": 22e-9, "C2": 22e-9}),
    "French": (
        "Repère;Désignation;Valeur;Tolérance;Puissance\nR1 à R2;Résistance;4,7 kΩ;5 %;0,5 W\n"
        "C1;Condensateur chimique;22 µF;20 %;".encode("cp1252", "ignore").replace(b" k;", b" k\x20;"),
        {"R1": 4700, "R2": 4700, "C1": 22e-6},
    ),
    "German": (
        "Lfd. Nr.;Kurzz.;Bezeichnung;Wert;Stück\n1;R1;Widerstand;4,7 kOhm / 1 %;1\n2;C1;Elko;22 µF / 450 V;1",
        {"R1": 4700, "C1": 22e-6},
    ),
    "decimal commas": ("Ref;Wert\nR1;0,47 Ohm\nC1;0,022 µF 400 V", {"R1": 0.47, "C1": 22e-9}),
    "UTF-16 without its mark": ("Ref;Value\r\nR1;4k7\r\nR2;1k\r\n".encode("utf-16-le"), {"R1": 4700, "R2": 1000}),
    "a hidden sheet before the list": (
        book([["Ref", "Value"], ["R1", "4k7"]], then=with_hidden_sheet), {"R1": 4700},
    ),
    "empty rows": (book([["Ref", "Value"], [None], ["R1", "4k7"], [None], ["R2", "1k"]]), {"R1": 4700, "R2": 1000}),
    "styles without cells": (book([["Ref", "Value"], ["R1", "4k7"]], then=with_bold_far_away), {"R1": 4700}),
    "exponents": ("Ref,Value\nR1,4.7E+03\nC1,2.2E-08\nR2,1.2E6", {"R1": 4700, "C1": 22e-9, "R2": 1.2e6}),
    "prefixes as words": (
        "Ref;Value\nR1;1 Meg\nR2;4.7 kilohms\nC1;0.1 microfarad 400 V\nR3;.47 ohm\nR4;10'000",
        {"R1": 1e6, "R2": 4700, "C1": 1e-7, "R3": 0.47, "R4": 10_000},
    ),
    "prices and their sum": ("Ref;Value;Price\nR1;4k7;0.10\n;;0.10\nTotal;;0.10", {"R1": 4700}),
    "marks of footnotes": ("Ref;Value\nR1*;4k7\n†R2;1k", {"R1": 4700, "R2": 1000}),
    "an old Macintosh's letters": (
        "Ref;Wert;Bemerkung\nR1;4k7;Größe\nC1;22 µF 450 V;für Röhre".encode("mac_roman"), {"R1": 4700, "C1": 22e-6},
    ),
    "columns nobody needs": (
        '"Reference","Value","Footprint","Datasheet","Qty"\n"R1, R2","4k7","axial","~",2', {"R1": 4700, "R2": 4700},
    ),
}  # fmt: skip


@pytest.mark.parametrize("how", READ)
def test_an_awkward_list_says_what_its_author_meant(how):
    raw, wanted = READ[how]
    parts, errors = read(raw)
    assert not errors
    units = {"R": "Ω", "C": "F"}
    found = {ref: parse_quantity(part["value"], units[ref[0]]).value for ref, part in parts.items()}
    assert found == pytest.approx(wanted)


DOUBTFUL = {
    "thousands or a decimal point": ("Ref;Wert\nR9;1k\nR1;1.000 Ohm\nR2;10.000\nC1;2,200 µF", [3, 4, 5]),
    "thousands with a space": ("Ref;Value\nR9;1k\nR1;10 000 Ω", [3]),
    "a date for a value": (book([["Ref", "Value"], ["R9", "1k"], ["R1", datetime.datetime(2026, 4, 7)]]), [3]),
    "a date for half a watt": (
        book([["Ref", "Value", "Power"], ["R9", "1k", "1 W"], ["R1", "4k7", datetime.date(2026, 2, 1)]]),
        [3],
    ),
    "a date in a text file": ("Ref;Value\nR9;1k\nR1;07. Apr\nR2;4/7/26", [3, 4]),
    "a time of the day for 4:07": (book([["Ref", "Value"], ["R9", "1k"], ["R1", datetime.time(4, 7)]]), [3]),
    "a time in a text file": ("Ref;Value\nR9;1k\nR1;4:07", [3]),
    "an error of a formula": (book([["Ref", "Value"], ["R9", "1k"], ["R1", "#N/A"]]), [3]),
    "a capacitor without a unit": ("Ref;Value\nR9;1k\nC1;.047 630V", [3]),
    "a reference with a remark": ("Ref;Value\nR9;1k\nR2 (L+R);4k7", [3]),
}


@pytest.mark.parametrize("what", DOUBTFUL)
def test_what_can_be_read_in_two_ways_is_refused_at_its_row(what):
    raw, rows = DOUBTFUL[what]
    parts, errors = read(raw)
    assert [row for row, _field in errors] == rows
    assert set(parts) == {"R9"}


GERMAN = book(
    [
        ["Eintakter", None, None, None, None, None, None],
        ["Pos.", "Bauteil", "Wert", "Daten", None, "Bemerkung", "Stk"],
        [None, None, None, "Spannung", "Belastbarkeit", None, None],
        ["Netzteil"],
        [1, "V3", "EZ80", None, None, "Gleichrichter, Noval", 1],
        [2, "V4", "EF99", None, None, "Miniatur 7-polig", 1],
        [3, "R1, R2", "270 Ohm", None, "0,5W", "Draht", 2],
        [4, "C1", "47µ", "450V", None, "Elko", 1],
        [5, "BU1", "Cinch rot", None, None, "Eingang", 1],
        [6, "BU2", "Polklemmen", None, None, None, 1],
        [7, "SI1", "0,63A träge", None, None, None, 1],
        [8, "DR1", "10H 90mA", None, None, None, 1],
        [9, "XY1", "Ausgangsübertrager", None, None, None, 1],
    ],
    merged=["A1:G1", "D2:E2", "A2:A3", "B2:B3", "A4:G4"],
)


def test_a_german_list_with_a_head_of_two_rows_names_kinds_ratings_and_bases():
    parts, errors = read(GERMAN)
    assert errors == [(4, "kind")]  # there is no EF99 in the book; nothing is guessed of it
    kinds = {ref: part["kind"] for ref, part in parts.items()}
    assert kinds == {
        "V3": "rectifier valve", "R1": "resistor", "R2": "resistor", "C1": "electrolytic", "BU1": "connector",
        "BU2": "connector", "SI1": "fuse", "DR1": "inductor", "XY1": "output transformer",
    }  # fmt: skip
    assert (parts["R2"]["power"], parts["C1"]["volts"], parts["V3"]["base"]) == ("0,5W", "450V", "B9A")
    assert sorted(parts["V3"]["pins"].items()) == [
        ("anode_1", "1"), ("anode_2", "7"), ("cathode", "3"), ("heater", ["4", "5"]),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("words", "base"),
    [
        ("Noval", "B9A"),
        ("9-pin miniature", "B9A"),
        ("Oktalsockel", "octal"),
        ("Rimlock", "B8A"),
        ("7-pin miniature", "B7G"),
        ("magnoval", ""),
        ("octal, anode on top cap", ""),
        ("", ""),
    ],
)
def test_a_base_is_named_by_the_words_of_the_trade_or_not_at_all(words, base):
    assert named_base(words) == base


def test_a_column_without_a_known_head_is_guessed_by_the_unit_of_its_cells():
    parts, errors = read("Ref;Value;Foo;Bar\nR1;1k;0,5 W;x\nR2;2k;1/4W;y\nC1;10u;;450 V")
    assert not errors and [parts[ref].get("power") for ref in ("R1", "R2")] == ["0,5 W", "0.25 W"]


def test_a_capacitors_voltage_behind_a_slash_is_no_note():
    parts, _errors = read("Ref;Value\nC1;0.1uF/400\nC2;47u/450")
    assert [parts[ref]["volts"] for ref in ("C1", "C2")] == ["400 V", "450 V"]


def test_two_off_of_two_references_is_one_of_each():
    parts, errors = read("Part,Value,Qty\nR1 R2,4k7,2 off\nV1 V2,EL84,2 off matched\nH,M4 nut,12 off")
    assert not errors
    assert [parts[ref].get("quantity", 1) for ref in ("R1", "R2", "V1", "V2", "H")] == [1, 1, 1, 1, 12]


def test_a_count_merged_over_two_rows_is_not_given_to_both():
    parts, _errors = read(book([["Ref", "Value", "Qty"], ["R1", "1k", 2], ["R2", "1k", None]], merged=["C2:C3"]))
    assert parts["R2"].get("quantity", 1) == 1


def test_cells_merged_downwards_are_read_from_an_opendocument_sheet_too():
    document, table = OpenDocumentSpreadsheet(), Table(name="Parts")
    for texts in (("Ref", "Value"), ("R1", "4k7"), ("R2", None), ("R3", "1k")):
        row = TableRow()
        for text in texts:
            cell = CoveredTableCell() if text is None else TableCell(valuetype="string")
            if text == "4k7":
                cell = TableCell(valuetype="string", numberrowsspanned=2)
            if text:
                cell.addElement(P(text=text))
            row.addElement(cell)
        table.addElement(row)
    document.spreadsheet.addElement(table)
    out = io.BytesIO()
    document.save(out)
    parts, errors = read(out.getvalue())
    assert not errors and {ref: part["value"] for ref, part in parts.items()} == {"R1": "4k7", "R2": "4k7", "R3": "1k"}


OWN_WORDS = """\
Einkanal-Endstufe "Regenpfeifer";;;;;;;;
Stand 14.03.;;;;;;;;
Lfd.;Kennz.;Bauteil / Wert;Tol.;Belastb.;Spg.fest;Stck.;Beutel;Anm.
1;TR1;Netztrafo 250-0-250 V / 80 mA, 6,3 V / 2 A;;;;1;A;prim. 230 V
2;BU1;Kaltgerätestecker mit Schutzleiter;;;;1;A;
3;SI1;T 0,63 A;;;250 V;1;A;träge!
4;D1, D2;1N4007;;;;2;B;
5;C1/C2;2×47µ;20%;;450 V;1;B;Becherelko, gemeinsamer Minus
6;C3;47µ (Elko);20%;;400V;1;B;
7;R1-3;1k5 (Draht);5%;2W;;3;B;Siebkette
8;V1a/V1b;ECC83;;;;1;C;beide Systeme
9;V2;EL84;;;;1;C;
10;R9;130R (!);5%;3W;;1;C;Kathode V2 - nicht 150R!
11;C7;4n7;;;630V;1;D;
12;TR2;AÜ 5k2 : 8 Ohm, 5 W;;;;1;D;
13;;Schraube M4x10;;;;12;E;
"""


def test_a_list_in_its_authors_own_abbreviations_is_read_whole():
    parts, errors = read(OWN_WORDS.encode("cp1252"))
    assert not errors
    assert "".join(sorted(ref[0] for ref in parts)) == "BCCCCDDHRRRRSTTVV"
    assert (parts["V1"]["kind"], parts["V1"]["type"]) == ("twin triode", "ECC83")
    assert [(parts[ref]["value"], parts[ref]["volts"]) for ref in ("C1", "C2", "C3")] == [
        ("47µ", "450 V"), ("47µ", "450 V"), ("47µ", "400V")
    ]  # fmt: skip
    assert (parts["R9"]["value"], parts["C7"]["value"], parts["SI1"]["value"]) == ("130R", "4n7", "0,63 A")
    assert (parts["TR1"]["kind"], parts["TR2"]["kind"]) == ("mains transformer", "output transformer")
    assert parts["H1"]["quantity"] == 12 and "nicht 150R" in parts["R9"]["note"]


ANY_HEAD = """\
Item\tWhat\tRef's\tSupplier's text\tEach
Valve\t6SN7 GT\tV1a+V1b\toctal\t1 pc
Rectifier tube\t5Y3GT\tV4\t\t1
R\t100k 1W\tR1, R2\tanode loads\t2
R\t1M\tR3,4,5\tgrid leaks\t3 pcs
C\t2x 20uF/450\tC3A-B\ttwist lock\t1
Choke\t8 Hy 90mA\tL1\t\t1
OPT\t8k CT : 4/8/16 ohm\tT2\t\t1
PT\t300-0-300 100mA, 5V 3A\tT1\t\t1
C\t0.047 / 630\tC1-2\tcoupling\t2
"""


def test_a_head_in_words_nobody_foresaw_is_still_a_head_and_columns_are_found_by_their_cells():
    parts, errors = read(ANY_HEAD)
    assert errors == [(10, "value"), (10, "value")]  # 0.047 of what is not said
    assert [*parts] == ["V1", "V4", "R1", "R2", "R3", "R4", "R5", "C3A", "C3B", "L1", "T2", "T1"]
    assert (parts["T2"]["kind"], parts["T1"]["kind"]) == ("output transformer", "mains transformer")
    assert (parts["L1"]["value"], parts["R5"]["value"], parts["C3B"]["volts"]) == ("8 H", "1M", "450 V")


def test_sections_of_two_types_are_not_made_one_valve():
    parts, errors = read("Ref;Type;Note\nR1;;4k7\nV1a;ECC83;\nV1b;ECC82;\nV2a;ECC83;phase\nV2b;ECC83;spare\nV3a;ECC81;")
    assert (4, "type") in errors
    assert (parts["V2"]["note"], parts["V3a"]["type"]) == ("phase; spare", "ECC81")


@pytest.mark.parametrize("words", ["Größe für Röhre", "Écran, tôle pliée", "½ W, § 3, Ø 8", "ŠKODA 5 Stück à 2"])
def test_western_letters_are_read_in_the_code_page_they_were_written_in(words):
    assert decode(f"R1;4k7;{words}\r\n".encode("cp1252")).split(";")[2].strip() == words


def test_an_old_macintoshs_words_come_through():
    assert "Größe für Röhre" in decode("R1;4k7;Größe für Röhre\r".encode("mac_roman"))


@pytest.mark.parametrize(
    "raw", [b"%PDF-1.4 x", b"{\\rtf1 x}", b"<html><table>", b"<?xml version='1.0'?><Workbook/>", b"\0\0\0"]
)
def test_a_file_of_another_kind_is_named_and_what_is_accepted(raw):
    with pytest.raises(UnreadableFile, match="XLSX"):
        read_file(raw)
    with pytest.raises(UnreadableFile, match="DOCX"):
        read_document(raw)


AS_WRITTEN = (  # (reference, cell, keys and values); letters and coded values by IEC 60062, the rest common practice
    ("R1", "R47", {"value": "R47"}),
    ("R1", "0R22", {"value": "0R22"}),
    ("R1", "470E", {"value": "470R"}),
    ("R1", "4k7 J", {"value": "4k7", "tolerance": "5%"}),
    ("R1", "4k7 K", {"value": "4k7", "tolerance": "10%"}),
    ("R1", "1K5 F", {"value": "1K5", "tolerance": "1%"}),
    ("R1", "100 K", {"value": "100 K"}),  # kilohms: a prefix is still missing
    ("R1", "47K", {"value": "47K"}),
    ("R1", "1K2J 0W5", {"value": "1K2", "tolerance": "5%", "power": "0.5 W"}),
    ("R1", "220k±5%", {"value": "220k", "tolerance": "5%"}),
    ("R1", "1.5K ½ W", {"value": "1.5K", "power": "0.5 W"}),
    ("R1", "100 ½W", {"value": "100", "power": "0.5W"}),
    ("C1", "2n2J", {"value": "2n2", "tolerance": "5%"}),
    ("C1", "100nK 630V", {"value": "100n", "tolerance": "10%", "volts": "630V"}),
    ("C1", "22n F 400 V", {"value": "22n F", "volts": "400 V"}),  # farads, not a tolerance
    ("C1", "220MMF", {"value": "220p"}),
    ("F1", "1½ A slow", {"value": "1.5 A"}),
    ("F1", "1/2 A slo-blo", {"value": "0.5 A"}),
    ("L1", "10 H 80 mA 300 Ω", {"value": "10 H", "amps": "80 mA", "ohms": "300 Ω"}),
)


@pytest.mark.parametrize(("ref", "cell", "keys"), AS_WRITTEN)
def test_a_cell_is_read_as_its_author_wrote_it(ref, cell, keys):
    parts, errors = read(f"Ref;Value\nR99;1k\n{ref};{cell}")
    assert not errors
    asked = ("value", "tolerance", "power", "volts", "amps", "ohms")
    assert {key: parts[ref][key] for key in asked if key in parts[ref]} == keys


@pytest.mark.parametrize("cell", ["4E7", "4E+07", "4.00E+07", "1E5"])
def test_an_exponent_that_may_be_a_code_is_refused_for_a_resistor(cell):
    """4E7 is 4.7 ohms in the letter code of old Dutch lists, and a spreadsheet makes 4.00E+07 of it."""
    _parts, errors = read(f"Ref;Value\nR99;1k\nR1;{cell}")
    assert errors == [(3, "value")]


def test_a_code_of_three_digits_is_not_taken_for_picofarads():
    """104 printed on a capacitor is 100 nF (IEC 60062), and 104 in a list nobody knows."""
    sheet = read_text("Ref;Value\nR99;1k\nC1;104")
    (error,) = read_table(sheet.rows, *guess(sheet.rows)).errors
    assert "100 nF" in error.message


def test_a_coupling_capacitor_is_no_electrolytic_for_the_letters_in_its_german_name():
    parts, _errors = read(
        "Ref;Wert;Bemerkung\nC6;0,1µ Folie;Koppelkondensator\nC7;220n;Koppelkondensator\nC8;22µ;Ladeelko"
    )
    assert [part["kind"] for part in parts.values()] == ["capacitor", "capacitor", "electrolytic"]


def test_references_in_lower_case_with_spaces_and_umlauts_are_the_drawings():
    parts, errors = read("Ref;Value\nr 1;1k\nc 3;1u 450V\nRö1;ECC83\nAÜ1;5k:8Ω\nTr1;\nR2 thru R4;1k\nR5|R6;1k")
    assert not errors
    assert [*parts] == ["R1", "C3", "Rö1", "AÜ1", "Tr1", "R2", "R3", "R4", "R5", "R6"]
    assert (parts["Rö1"]["kind"], parts["AÜ1"]["kind"]) == ("twin triode", "output transformer")


def test_one_reference_in_both_cases_comes_twice():
    _parts, errors = read("Ref;Value\nR1;1k\nr1;2k")
    assert errors == [(3, "ref")]


SAID = ("47 µF", "Größe für Röhre", "±10 %", "½ W", "Netzgerät 10 µF", "25 °C", "470 k±5%", "PRÜFUNG")


@pytest.mark.parametrize("page", ["cp1252", "cp850", "cp437"])
@pytest.mark.parametrize("words", SAID)
def test_letters_and_signs_are_read_in_the_code_page_they_were_written_in(words, page):
    """The code pages are Python's own tables of IBM 437 and 850 and of Windows 1252."""
    assert decode(f"R1;4k7;{words};x\r\n".encode(page)).split(";")[2] == words


def test_ohms_of_the_american_code_page_are_ohms():
    """IBM 437 has a capital omega at EA, where Windows 1252 has ê."""
    parts, errors = read("Ref;Wert\r\nR1;4,7 kΩ\r\nR2;100 Ω\r\nC1;0,1 µF".replace("µ", "\u00b5").encode("cp437"))
    assert not errors
    assert parse_quantity(parts["R1"]["value"], "Ω").value == 4700
