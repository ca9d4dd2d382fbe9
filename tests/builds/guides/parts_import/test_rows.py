"""What rows of a parts list are understood to say. Values and notation: IEC 60062; the rest is common practice."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builds.guides.parts_import.columns import guess
from builds.guides.parts_import.kinds import guess_kind
from builds.guides.parts_import.references import expand
from builds.guides.parts_import.several import of_one
from builds.guides.parts_import.sheet import read_text
from builds.guides.parts_import.table import build_part, read_table
from builds.guides.parts_import.values import read_cell, read_field
from checks.errors import ChecksError
from checks.quantity import parse_quantity


def _rows_of(text):
    sheet = read_text(text)
    return read_table(sheet.rows, *guess(sheet.rows))


@pytest.mark.parametrize("head", ["Belastbarkeit", "Leistung/Spannung", "Rated power", "Voltage / Power"])
def test_one_column_of_ratings_holds_watts_and_volts_each_by_its_unit(head):
    table = _rows_of(f"Bauteil;Wert;{head}\nR1;1k;0,5 W\nC1;47 µF;450 V\nC2;22n;400V=\nD1;1N4007;1 A")
    assert not table.errors
    ratings = [{k: v for k, v in part.items() if k in ("power", "volts", "amps")} for part in table.parts]
    assert ratings == [{"power": "0,5 W"}, {"volts": "450 V"}, {"volts": "400V"}, {"amps": "1 A"}]


def test_a_bare_number_of_a_capacitor_in_a_column_of_watts_is_its_volts():
    table = _rows_of("Bauteil;Wert;Belastbarkeit\nR1;1k;5\nC1;47 µF;450")
    assert not table.errors
    assert [(part.get("power"), part.get("volts")) for part in table.parts] == [("5 W", None), (None, "450 V")]


def test_two_ratings_of_one_kind_are_refused_and_neither_is_lost():
    table = _rows_of("Ref;Value;Rated voltage;Rated power\nC1;47 µF;450 V;400 V\nR1;1k;350 V;2 W")
    assert [(error.ref, error.field) for error in table.errors] == [("C1", "power")]
    assert (table.parts[0]["volts"], table.parts[0]["power"]) == ("350 V", "2 W")


@pytest.mark.parametrize(
    ("text", "refs"),
    [
        ("R1–R4, R7", "R1 R2 R3 R4 R7"),
        ("R1-4", "R1 R2 R3 R4"),
        ("C1..C3", "C1 C2 C3"),
        ("R1 to R3 and R5", "R1 R2 R3 R5"),
        ("R1 R2;R3/R4 & R5", "R1 R2 R3 R4 R5"),
        ("R08–R10", "R08 R09 R10"),
        ("V1", "V1"),
        ("PCB", "PCB"),
        ("C2 u. C3", "C2 C3"),
        ("R4–R5 et R7", "R4 R5 R7"),
        ("R3,4,5", "R3 R4 R5"),
        ("R3/4", "R3 R4"),
        ("V1a/b", "V1a V1b"),
        ("V1a+V1b", "V1a V1b"),
        ("C3A-B", "C3A C3B"),
        ("C3 (a–c), R7", "C3a C3b C3c R7"),
    ],
)
def test_references_are_expanded(text, refs):
    assert expand(text) == refs.split()


@pytest.mark.parametrize(
    "text",
    [
        "",
        "R1 R2 left",
        "C2 u C3",
        "R1 each",
        "R4–R1",
        "R1–C4",
        "R1–R999",
        "4k7",
        "R1 – ",
        "(R1)",
        "R1, 470",
        "R1 22",
        "R5, 4",
        "C3c-a",
        "R1, b",
    ],
)
def test_what_is_no_reference_is_refused(text):
    with pytest.raises(ChecksError):
        expand(text)


@pytest.mark.parametrize(
    ("refs", "value", "each"),
    [
        ("C1/C2", "2×47µ 450 V", "47µ 450 V"),
        ("C3A-B", "2 x 20uF/450", "20uF/450"),
        ("C1, C2", "32+32µ 450 V", "32µ 450 V"),
        ("R1–R4", "4x 100R", "100R"),
        ("C1, C2", "47µ", "47µ"),
        ("V1, V2", "2x EL84", "2x EL84"),
        ("H1", "4×8 mm", "4×8 mm"),
    ],
)
def test_each_reference_has_its_share_of_what_is_counted_together(refs, value, each):
    assert of_one(value, expand(refs)) == each


@pytest.mark.parametrize(("refs", "value"), [("C1", "2×100µ"), ("C1–C3", "2x 47u"), ("C1", "32+32µ")])
def test_more_in_one_can_than_references_is_refused(refs, value):
    with pytest.raises(ChecksError) as refused:
        of_one(value, expand(refs))
    assert refused.value.code == "several-in-one"


@pytest.mark.lengthy
@given(st.sampled_from(["R", "C", "RV"]), st.integers(1, 900), st.integers(1, 90), st.sampled_from("-–—"))
def test_a_range_has_both_ends_and_every_number_between(prefix, first, count, dash):
    refs = expand(f"{prefix}{first}{dash}{prefix}{first + count}")
    assert refs == [f"{prefix}{n}" for n in range(first, first + count + 1)]


@pytest.mark.parametrize(
    ("text", "kind", "said", "words"),
    [
        ("4k7", "resistor", {"value": "4k7"}, []),
        ("4k7 1% 0.6W", "resistor", {"value": "4k7", "tolerance": "1%", "power": "0.6W"}, []),
        ("4,7k 1 % 2 W", "resistor", {"value": "4,7k", "tolerance": "1%", "power": "2 W"}, []),
        ("100R 1/4 W", "resistor", {"value": "100R", "power": "0.25 W"}, []),
        ("1M5 ±5%", "resistor", {"value": "1M5", "tolerance": "5%"}, []),
        ("470", "resistor", {"value": "470"}, []),
        ("22u 450 V", "electrolytic", {"value": "22u", "volts": "450 V"}, []),
        ("0.1µ/630V", "capacitor", {"value": "0.1µ", "volts": "630V"}, []),
        ("100N 400V", "capacitor", {"value": "100n", "volts": "400V"}, []),
        ("47uF, 450V, -20/+50%", "electrolytic", {"value": "47uF", "volts": "450V", "tolerance": "-20/+50%"}, []),
        ("22 µF 450 VDC", "electrolytic", {"value": "22 µF", "volts": "450 VDC"}, []),
        ("500 mA T", "fuse", {"value": "500 mA"}, ["T"]),
        ("5V1 1.3 W", "zener", {"value": "5.1 V", "power": "1.3 W"}, []),
        ("ECC83/12AX7", "twin triode", {}, ["ECC83/12AX7"]),
        ("6SN7", "twin triode", {}, ["6SN7"]),
        ("300B", "triode", {}, ["300B"]),
        ("1N4007", "diode", {}, ["1N4007"]),
        ("10 H 100 mA", "inductor", {"value": "10 H", "amps": "100 mA"}, []),
        ("100k log", "potentiometer", {"value": "100k"}, ["log"]),
    ],
)
def test_a_cell_is_taken_apart(text, kind, said, words):
    cell = read_cell(text, kind)
    assert (cell.figures, cell.rest) == (said, words)


@pytest.mark.parametrize(("text", "kind"), [("100", "capacitor"), ("47", "electrolytic"), ("450V 630V", "capacitor")])
def test_a_cell_that_would_be_a_guess_is_refused(text, kind):
    with pytest.raises(ChecksError):
        read_cell(text, kind)


@given(st.sampled_from(["R", "k", "M"]), st.integers(1, 99), st.integers(0, 9))
def test_letter_notation_means_in_the_list_what_it_means_on_the_bench(letter, whole, part):
    text = f"{whole}{letter}{part}"
    assert parse_quantity(read_cell(text, "resistor").figures["value"], "Ω") == parse_quantity(text, "Ω")


@pytest.mark.parametrize(
    ("key", "text", "read"),
    [("volts", "450", "450 V"), ("power", "1/2", "0.5 W"), ("power", "0,6 W", "0,6 W"), ("tolerance", "5", "5%")],
)
def test_a_column_for_one_thing_needs_no_unit(key, text, read):
    assert read_field(key, text) == read


@pytest.mark.parametrize(
    ("key", "text"), [("tolerance", "0.05"), ("volts", "2 W"), ("power", "two"), ("volts", "1,000")]
)
def test_a_column_for_one_thing_refuses_another(key, text):
    with pytest.raises(ChecksError):
        read_field(key, text)


def test_a_bare_tolerance_is_a_percentage_where_its_head_says_so():
    assert read_field("tolerance", "0.1", percent=True) == "0.1%"


@pytest.mark.parametrize(
    ("ref", "words", "value", "type_", "kind"),
    [
        ("R1", "", "4k7", "", "resistor"),
        ("RV1", "", "100k", "", "potentiometer"),
        ("C1", "", "47u", "", "electrolytic"),
        ("C2", "", "100n", "", "capacitor"),
        ("C3", "polypropylene film", "4u7", "", "capacitor"),
        ("V1", "", "", "12AX7", "twin triode"),
        ("V2", "", "", "EL84", "pentode"),
        ("V3", "", "", "EZ81", "rectifier valve"),
        ("V4", "", "", "ABC123", ""),
        ("D1", "", "", "1N4007", "diode"),
        ("D1", "Brücke", "1N4007", "", "diode"),  # one of the four
        ("D1", "bridge, 4 x 1N4007", "", "", "bridge"),
        ("D5", "zener", "5V1", "", "zener"),
        ("T2", "output 5k : 8 ohm", "", "", "output transformer"),
        ("T1", "mains", "", "", "mains transformer"),
        ("L1", "choke", "10 H", "", "inductor"),
        ("F1", "", "500 mA", "", "fuse"),
        ("S1", "mains switch", "", "", "switch"),
        ("Z99", "", "", "", "zener"),
        ("AB1", "", "", "", ""),
    ],
)
def test_the_kind_follows_the_reference(ref, words, value, type_, kind):
    assert guess_kind(ref, words, value, type_) == kind


AWKWARD = """\
Bauteil;Wert;Tol. (%);Leistung (W);Anzahl;Bemerkung

Beutel 3
R1–R3;4k7;1;0,6;3;Metallfilm
;M4 Schrauben;;;24;
Bag 4
C1;22u 450 V;;;1;
V1;ECC83;;;1;Eingang
"""


def test_a_list_with_headings_bags_and_hardware_is_read():
    sheet = read_text(AWKWARD)
    fields, has_head = guess(sheet.rows)
    assert (fields, has_head) == (["ref", "value", "tolerance", "power", "quantity", "note"], True)
    table = read_table(sheet.rows, fields, has_head)
    assert not table.errors
    parts = {part["ref"]: part for part in table.parts}
    assert parts["R2"] == {"ref": "R2", "kind": "resistor", "value": "4k7", "tolerance": "1%", "power": "0,6 W"} | {
        "note": "Metallfilm",
        "bag": "3",
    }
    assert parts["H1"]["quantity"] == 24
    assert parts["C1"]["bag"] == "4"
    assert parts["V1"]["pins"]["a"] == {"anode": "6", "grid": "7", "cathode": "8"}  # ECC83, base B9A


def test_columns_without_heads_are_guessed_from_their_cells():
    assert guess(read_text("1\tR1\t4k7\t5%\n2\tR2\t1k\t5%").rows) == (["", "ref", "value", "tolerance"], False)


@pytest.mark.parametrize(
    ("row", "field"),
    [
        ("R1;;;", "value"),
        ("C1;100;;", "value"),
        ("R1;4k7;0.05;", "tolerance"),
        ("R1;4k7;;x", "quantity"),
        ("V9;XYZ1;;", "kind"),
        ("?!;4k7;;", "ref"),
        ("AB12;thing;;", "kind"),
    ],
)
def test_an_error_is_told_with_its_row_and_column(row, field):
    sheet = read_text(f"Ref;Value;Tol;Qty\nR9;1k;5%;1\n{row}")
    table = read_table(sheet.rows, *guess(sheet.rows))
    assert [(error.row, error.field) for error in table.errors] == [(3, field)]
    assert [part["ref"] for part in table.parts] == ["R9"]


def test_a_reference_that_comes_twice_is_refused_at_its_second_row():
    table = read_table(read_text("Ref;Value\nR1;1k\nR1;2k").rows, ["ref", "value"], True)
    assert [(error.row, error.ref) for error in table.errors] == [(3, "R1")]


@pytest.mark.lengthy
def test_more_hardware_without_a_reference_than_there_are_numbers_for_asks_for_one():
    rows = [("Note",), *((f"Screw {n}",) for n in range(1001))]
    table = read_table(rows, ["note"], True)
    assert len(table.parts) == 999
    assert [(error.row, error.field) for error in table.errors] == [(1001, "ref"), (1002, "ref")]


def test_words_of_a_kind_column_that_say_more_than_a_kind_stay_in_the_note():
    rows = (
        ("Pos.", "Bauteil", "Wert"),
        ("BU3", "Lautsprecherklemme rot", ""),
        ("R1", "Widerstand", "4k7"),
        ("S1", "Netzschalter 2pol.", ""),
    )
    table = read_table(rows, ["ref", "kind", "value"], True)
    assert [part.get("note") for part in table.parts] == ["Lautsprecherklemme rot", None, "Netzschalter 2pol."]
    assert [part["kind"] for part in table.parts] == ["connector", "resistor", "switch"]


def test_a_total_behind_an_empty_reference_is_no_part():
    rows = (("Pos.", "Stk.", "Bauteil", "Wert"), ("R1", "1", "Widerstand", "4k7"), ("", "31", "Summe", ""))
    table = read_table(rows, ["ref", "quantity", "kind", "value"], True)
    assert not table.errors and len(table.parts) == 1
    named = read_table((rows[0], ("R9", "1", "Summe", "4k7")), ["ref", "quantity", "kind", "value"], True)
    assert [part["ref"] for part in named.parts] == ["R9"]


def test_a_triode_and_a_pentode_in_one_bulb_says_how_to_list_it():
    rows = (("Pos.", "Bauteil", "Wert"), ("Rö1", "Röhre", "ECL82"))
    (error,) = read_table(rows, ["ref", "kind", "value"], True).errors
    assert error.field == "kind" and "such as Rö1T of the kind triode and Rö1P of the kind pentode" in error.message
    (other,) = read_table((rows[0], ("Rö1", "Röhre", "EQ99")), ["ref", "kind", "value"], True).errors
    assert "valve type “EQ99” is not known" in other.message


def test_the_systems_of_one_bulb_are_told_by_words_and_have_its_pins():
    """ECL82 by its RETMA diagram 9EX (from memory): the triode on 9, 1 and 8, the pentode on 6, 7, 3 and 2."""
    rows = (
        ("Pos.", "Bauteil", "Wert", "Bemerkung"),
        ("Rö1T", "Röhre", "ECL82 Triode", ""),
        ("Rö1P", "Röhre", "ECL82", "Pentodensystem, Endröhre"),
    )
    table = read_table(rows, ["ref", "kind", "value", "note"], True)
    assert not table.errors
    triode, pentode = table.parts
    assert (triode["kind"], triode["type"], triode["base"]) == ("triode", "ECL82", "B9A")
    assert triode["pins"] == {"anode": "9", "grid": "1", "cathode": "8"}
    assert (pentode["kind"], pentode["type"]) == ("pentode", "ECL82")
    assert pentode["pins"] == {"anode": "6", "screen": "7", "grid": "3", "cathode": "2", "heater": ["4", "5"]}
    both = read_table(
        (rows[0], ("Rö1", "Röhre", "ECL82", "Triode und Pentode")), ["ref", "kind", "value", "note"], True
    )
    assert [error.field for error in both.errors] == ["kind"]


@pytest.mark.parametrize(
    ("written", "amps", "volts"),
    [  # IEC 60127-1, marking: speed (FF, F, M, T, TT), rated current, breaking capacity (L, E, H), rated voltage
        ("T250mA", "250mA", None),
        ("T 3,15A 250V", "3,15A", "250V"),
        ("T250mAL250V", "250mA", "250V"),
        ("F2A/250V", "2A", "250V"),
        ("TT 80 mA H", "80 mA", None),
    ],
)
def test_a_fuse_is_read_by_its_marking_and_keeps_its_speed(written, amps, volts):
    part, wrong = build_part("F1", {"value": written, "note": "5x20"})
    assert (part["kind"], part["value"], part.get("volts"), wrong) == ("fuse", amps, volts, [])
    assert written.split("250V")[0].strip(" /") in part["note"]


def test_a_driver_transformer_is_wired_like_an_output_transformer():
    assert build_part("T2", {"value": "22k:8R", "note": "spring driver"})[0]["kind"] == "output transformer"
    assert build_part("T2", {"note": "reverb transformer"})[0]["kind"] == "output transformer"
    assert build_part("T1", {"note": "250-0-250 V 50 mA, 6.3 V 2.5 A"})[0]["kind"] == "mains transformer"


@pytest.mark.parametrize(
    ("ref", "value", "rating", "figures"),
    [  # one column "Belastb./Spg." for all ratings, as German lists have it
        ("R10", "47k", "0,5W 1%", {"power": "0,5W", "tolerance": "1%"}),
        ("R15", "1,2k", "0,5 W 1 %", {"power": "0,5 W", "tolerance": "1%"}),
        ("C12", "8,2n", "100V 1%", {"volts": "100V", "tolerance": "1%"}),
        ("S1", "", "250V/2A", {"volts": "250V", "amps": "2A"}),
    ],
)
def test_a_rating_cell_of_two_figures_is_read_apart(ref, value, rating, figures):
    part, wrong = build_part(ref, {"value": value, "volts": rating, "note": "x"})
    assert not wrong and {key: part.get(key) for key in figures} == figures


def test_a_rating_given_in_two_cells_is_refused():
    assert build_part("R1", {"value": "47k", "volts": "0,5W 1%", "power": "2 W"})[1]


def test_a_large_capacitor_is_an_electrolytic_with_its_prefix_apart():
    assert build_part("C10", {"value": "100 µ / 16 V"})[0]["kind"] == "electrolytic"
    assert build_part("C11", {"value": "100 n / 400 V"})[0]["kind"] == "capacitor"


@pytest.mark.parametrize(
    ("refs", "read", "quantity"),
    [
        ("R1, R2 (2x)", ["R1", "R2"], None),
        ("R1-R3 (x3)", ["R1", "R2", "R3"], None),
        ("2x R7, R8", ["R7", "R8"], None),
        ("R1/R2 (2 Stk.)", ["R1", "R2"], None),
        ("R9 (3 pcs)", ["R9"], 3),
        ("R1, R2 x2", ["R1", "R2"], None),
    ],
)
def test_a_count_beside_references_is_their_quantity(refs, read, quantity):
    table = _rows_of(f"Ref;Value\n{refs};1k")
    assert not table.errors
    assert [(part["ref"], part.get("quantity")) for part in table.parts] == [(ref, quantity) for ref in read]


@pytest.mark.parametrize("row", ["R1, R2;1k;4", "R1, R2 (3x);1k;", "R1, R2 (2x);1k;3", "R1–R4;1k;3"])
def test_a_quantity_that_is_not_the_number_of_references_is_refused(row):
    table = _rows_of(f"Ref;Value;Qty\n{row}")
    assert [error.field for error in table.errors] == ["quantity"] and not table.parts


@pytest.mark.parametrize(
    ("kind", "typed"),
    [
        ("resistor", "1m"),  # a megohm to who wrote it, or a shunt
        ("resistor", "2m2"),
        ("capacitor", "1M"),
        ("electrolytic", "47 mF"),  # microfarads in lists of the 1950s
        ("resistor", "33k–47k"),
        ("resistor", "47k or 51k"),
        ("resistor", "47k || 100k"),
        ("capacitor", "100n / 220n"),
    ],
)
def test_a_value_that_may_be_two_is_refused(kind, typed):
    with pytest.raises(ChecksError) as error:
        read_cell(typed, kind)
    assert error.value.code in ("milli-or", "twice")


@pytest.mark.parametrize(
    ("kind", "typed", "value"),
    [
        ("resistor", "50 mΩ", "50 mΩ"),
        ("electrolytic", "8 MF 450V", "8u"),
        ("resistor", "4k7 0207 MF", "4k7"),
        ("electrolytic", "220u 35V 105C 10x16mm", "220u"),
    ],
)
def test_a_value_that_is_one_is_read_beside_its_words(kind, typed, value):
    assert read_cell(typed, kind).figures["value"] == value


@pytest.mark.parametrize(
    ("row", "key", "read"),
    [
        ("R1;1k;Metallschicht 1%", "tolerance", "1%"),
        ("C1;1n;Styroflex, ±2,5 %", "tolerance", None),  # no tolerance of IEC 60062, so it may be anything
        ("R1;1k;metal film, 5 %", "tolerance", "5%"),
        ("R1;1k;matched within 1 % of R2", "tolerance", None),  # says nothing of its value
        ("R1;1k;1 % or 5 %", "tolerance", None),
        ("C1;10u 25V;-20 % +50 %", "tolerance", None),
        ("Si1;;Feinsicherung T 630 mA", "value", "630 mA"),
    ],
)
def test_what_a_row_says_in_words_is_read_where_it_says_it_once(row, key, read):
    table = _rows_of(f"Ref;Wert;Bezeichnung / Typ\n{row}")
    parts = table.parts or [{}]
    assert parts[0].get(key) == read


@pytest.mark.parametrize("text", ["100KA", "100k A", "A100K", "100K (A)", "100K A 0.25W"])
def test_the_letter_of_a_potentiometers_law_is_no_ampere(text):
    """A, B and C: how the resistance grows with the turn (common practice)."""
    cell = read_cell(text, "potentiometer")
    assert parse_quantity(cell.figures["value"], "Ω").value == 100e3 and "amps" not in cell.figures
    assert cell.rest == ["A"]


def test_the_letters_of_value_and_tolerance_may_stand_together():
    """IEC 60062. On a potentiometer the last letter is no tolerance."""
    assert read_cell("10KF", "resistor").figures == {"value": "10K", "tolerance": "1%"}
    assert read_cell("2M2K", "resistor").figures == {"value": "2M2", "tolerance": "10%"}
    assert read_cell("100K", "resistor").figures == {"value": "100K"}
    assert "tolerance" not in read_cell("10KB", "potentiometer").figures


def test_words_for_what_a_resistor_is_are_a_note_and_a_part_number_is_its_type():
    table = _rows_of("Ref;Wert;Bezeichnung / Typ\nR1;1k;Metallschicht, Anode\nR2;1k;MRS25\nV1;;ECC83\nS1;;Netzschalter")
    assert [(part.get("note"), part.get("type")) for part in table.parts] == [
        ("Metallschicht, Anode", None),
        (None, "MRS25"),
        (None, "ECC83"),
        ("Netzschalter", None),
    ]


def test_parts_under_the_heading_of_the_output_stage_say_so():
    text = "Ref;Value;Note\nDriver;;\nR1;1k;cathode\nOutput stage;;\nR2;130;cathode\nSubtotal;;\nH1;;screws M3"
    notes = {part["ref"]: part.get("note") for part in _rows_of(text).parts}
    assert notes == {"R1": "cathode", "R2": "cathode; Output stage", "H1": "screws M3"}
