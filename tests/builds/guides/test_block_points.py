"""A block is joined to what the blocks before it left open, and to the rail that can feed it.

What each should be is common practice: output valves are fed before the small smoothing resistors of the first stages.
"""

import pytest

from builds.guides.blocks import BLOCKS
from builds.guides.blocks.guess import guess_refs
from builds.guides.blocks.points_guess import guess_points
from builds.guides.editor.block_form import list_lines
from builds.guides.parts_import.columns import guess
from builds.guides.parts_import.sheet import read_text
from builds.guides.parts_import.table import read_table
from builds.guides.wiring.ends import list_ends
from builds.guides.wiring.wires import ends_by_point
from builds.ui.messages.parts_list import part_message
from checks.circuit import part_from_mapping, parts_list_errors
from checks.errors import ChecksError
from tests.builds.guides.test_wiring_and_blocks import put

LIST = """Ref;Value;Description
TR1;;Mains transformer 250-0-250 V 90 mA
V3;EZ81;
C1, C2;47u 450 V;Smoothing
R1;{first};Smoothing
V1;ECC83;
V2;EL84;
R5;1M;Grid leak
R7;100k;Anode
R8;1k5;Cathode
C3;100u 25 V;Cathode
C4;100n 630 V;Coupling
R9;470k;Grid leak
R10;180R;Cathode
C5;220u 35 V;Cathode
R12;{second};Smoothing
C6;22u 450 V;Smoothing
R13;470k;Grid leak
R14;100k;Anode
R15;1k5;Cathode
C7;100n 630 V;Coupling
TR2;;Output transformer
"""


def parts_of(first="270R", second="22k"):
    sheet = read_text(LIST.format(first=first, second=second))
    return read_table(sheet.rows, *guess(sheet.rows)).parts


def supplied(**values):
    parts, errors = suggest(parts_of(**values), "rectifier", amps="90 mA", ohms="180R", primary_ohms="18R", how="valve")
    assert not errors
    return parts


def suggest(parts, key, **said):
    """Place a block just as its form suggests it."""
    roles, asks = list_lines(BLOCKS[key], parts)
    return put(parts, key, refs={line.name: line.text for line in roles}, **{a.name: a.text for a in asks} | said)


@pytest.mark.parametrize(
    ("first", "second", "anodes", "screens"),
    [("270R", "22k", "ht.2", "ht.2"), ("270R", "2k2", "ht.2", "ht.3"), ("4k7", "22k", "ht.1", "ht.2"),
     ("10k", "22k", "ht.1", "ht.1")],
)  # fmt: skip
def test_output_valves_are_fed_before_the_resistors_of_the_first_stages(first, second, anodes, screens):
    parts = supplied(first=first, second=second)
    said = guess_points(BLOCKS["single-ended"], parts, {"valve": "V2"})
    assert (said["rail"], said["screen_rail"]) == (anodes, screens)
    assert guess_points(BLOCKS["triode"], parts, {"valve": "V1"})["rail"] == "ht.3"


def test_a_stage_follows_the_output_that_nothing_follows_yet():
    parts, errors = suggest(supplied(), "triode")
    assert not errors
    second = guess_points(BLOCKS["triode"], parts, {"valve": "V1"})
    assert (second["section"], second["input"]) == ("b", "v1a.out")
    parts, errors = suggest(parts, "triode")
    assert not errors
    assert guess_points(BLOCKS["single-ended"], parts, {"valve": "V2"})["input"] == "v1b.out"
    parts, errors = suggest(parts, "single-ended", primary_ohms="300R", secondary_ohms="0.6R")
    assert not errors
    lonely = [point for point, ends in ends_by_point(parts) if len(ends) == 1 and not point.startswith(("in", "mains"))]
    assert lonely == ["speaker"]  # there is no socket for it in the list


def test_a_coupling_capacitor_is_the_stages_output_unless_its_note_names_the_input():
    refs = guess_refs(BLOCKS["triode"], supplied())
    assert (refs["cin"], refs["couple"]) == ("", "C4")
    noted = [row | ({"note": "Input capacitor"} if row["ref"] == "C7" else {}) for row in supplied()]
    refs = guess_refs(BLOCKS["triode"], noted)
    assert (refs["cin"], refs["couple"]) == ("C7", "C4")


@pytest.mark.parametrize("note", ["Netztransformator 280-0-280 V", "Transfo d'alimentation", "Eingang und Anode", ""])
def test_the_only_mains_transformer_is_the_supplys_whatever_its_note_says(note):
    parts = [row | {"note": note} if row["ref"] == "TR1" else row for row in parts_of()]
    assert guess_refs(BLOCKS["rectifier"], parts)["transformer"] == "TR1"


def test_a_valve_is_suggested_whatever_its_note_says():
    parts = [row | {"note": "Phasenumkehr, Anode"} if row["ref"] == "V1" else row for row in supplied()]
    assert guess_refs(BLOCKS["triode"], parts)["valve"] == "V1"


def test_a_long_tailed_pair_takes_a_valve_of_its_own_and_follows_a_capacitor_that_is_there():
    parts, _errors = suggest(supplied(), "triode")
    more = """Ref;Value;Description
V5;ECC83;
R31;82k;Anode
R32;100k;Anode
R33;10k;tail
C31;100n 400V;grid of V5b
"""
    sheet = read_text(more)
    parts += read_table(sheet.rows, *guess(sheet.rows)).parts
    refs = guess_refs(BLOCKS["pair"], parts)
    assert (refs["valve"], refs["cin"], refs["cg"]) == ("V5", "", "C31")
    parts, errors = suggest(parts, "pair")
    assert not errors
    ends = {point: {f"{end.ref}.{end.pin or end.terminal}" for end in ends} for point, ends in ends_by_point(parts)}
    assert {"V5.7", "C4.b"} <= ends["v1a.out"]  # the grid of section a is at pin 7 (the maker's sheet of the ECC83)


@pytest.mark.parametrize("note", ["Kathode Endröhren", "Cathode of the output valve", "Power stage cathode"])
def test_a_part_of_the_output_stage_is_no_first_stages(note):
    parts = [row | {"note": note} if row["ref"] == "R8" else row for row in supplied()]
    assert guess_refs(BLOCKS["triode"], parts)["rk"] == "R10"
    assert guess_refs(BLOCKS["single-ended"], parts)["rk"] == "R8"


def test_an_output_stage_after_one_section_is_joined_to_it():
    parts, _errors = suggest(supplied(), "triode")
    assert guess_points(BLOCKS["single-ended"], parts, {"valve": "V2"})["input"] == "v1a.out"


def test_a_first_stage_keeps_the_usual_names():
    said = guess_points(BLOCKS["triode"], parts_of(), {"valve": "V1"})
    assert "input" not in said and "section" not in said and "rail" not in said


def test_a_spare_section_is_joined_to_the_chassis_and_only_whole():
    """What the page asks for: a section that is not used has its ends at the chassis, and no supply is missed there."""
    parts, _errors = suggest(supplied(), "heaters", amps="3 A", ohms="0.1R")
    parts, _errors = suggest(parts, "triode")
    part = next(row for row in parts if row["ref"] == "V1")

    def errors_with(section_b):
        joins = part["joins"] | {"b": section_b} if section_b else part["joins"]
        specs = [part_from_mapping(row | {"joins": joins} if row is part else row) for row in parts if is_wired(row)]
        return {error.params.get("ref") for error in parts_list_errors(specs)}

    spare = dict.fromkeys(("anode", "grid", "cathode"), "chassis")
    assert "V1" not in errors_with(spare)
    assert "V1" in errors_with(spare | {"grid": "v1a.grid"})  # an anode that nothing feeds
    with pytest.raises(ChecksError) as error:
        errors_with({})
    assert "section b" in part_message(error.value).lower()


def is_wired(row):
    return row["ref"] != "V2" and any(end.point for end in list_ends(row))


def test_a_stage_coupled_directly_begins_at_the_anode_before_it_whatever_the_valve_is_called():
    sheet = read_text("Ref;Wert\nRö1;ECC83\nR1;1M\nR2;1k5\nR3;100k\nR4;47k\nR5;47k\n")
    parts, errors = put(read_table(sheet.rows, *guess(sheet.rows)).parts, "triode", rail="ht.1")
    assert not errors
    refs = guess_refs(BLOCKS["cathodyne"], parts)
    assert guess_points(BLOCKS["cathodyne"], parts, refs)["input"] == "rö1a.anode"
