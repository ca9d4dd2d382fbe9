"""A part whose note names its valve goes to that valve's stage; what belongs to the mains goes to no stage at all.

What each list should give is common practice: notes such as "cathode V1b" say where a part sits.
"""

import pytest

from builds.guides.blocks import BLOCKS
from builds.guides.blocks.guess import guess_refs
from builds.guides.blocks.points_guess import guess_points
from builds.guides.blocks.transformer_guess import guess_transformer, primary_volts
from builds.guides.mains_side import MainsSide
from builds.guides.proposals.propose import propose
from builds.guides.wiring.ends import flat_joins, list_ends
from tests.builds.guides.test_wiring_and_blocks import LINE_STAGE, parts_of, put

LIST = """Ref;Wert;Verwendung
Tr1;2 x 250 V / 80 mA, 6,3 V / 3 A;Netztrafo, prim. 230 V
Bu1;Kaltgerätestecker;Netzeingang
Bu2;Cinch;Eingangsbuchse
V1;ECC83;
V2;EL84;Endröhre
P1;470k log;Lautstärke
R5;1k;Gitterstopper
R6;1k5;Kathode V1a
R7;220k;Anode V1a
C5;22n 630 V;Koppelkondensator
R8;1M;Gitterableitwiderstand V1b
R9;2k2;Kathode V1b
R10;100k;Anode V1b
C6;100n 630 V;Koppelkondensator Endstufe
R11;470k;Gitterableitwiderstand V2
C7;220u 35 V;Kathode V2
"""


@pytest.fixture
def first():
    parts = parts_of(LIST)
    return parts, guess_refs(BLOCKS["triode"], parts)


def test_the_first_stage_takes_its_own_parts_and_the_second_its_own(first):
    parts, refs = first
    assert (refs["load"], refs["rk"], refs["stopper"], refs["couple"]) == ("R7", "R6", "R5", "C5")
    parts, errors = put(parts, "triode", rail="ht.3")
    assert not errors
    again = guess_refs(BLOCKS["triode"], parts)
    assert (again["load"], again["rk"], again["leak"], again["couple"]) == ("R10", "R9", "R8", "C6")
    assert again["ck"] == ""  # C7 is V2's


def test_the_mains_inlet_is_no_input_socket(first):
    assert first[1]["jack_in"] == "Bu2"


def test_a_potentiometer_as_the_leak_sets_the_volume(first):
    """The input at its upper end, the grid at its wiper: at the lower end the grid is at the chassis."""
    parts, refs = first
    assert refs["leak"] == "P1"
    parts, errors = put(parts, "triode", rail="ht.3")
    assert not errors
    joins = {row["ref"]: flat_joins(row) for row in parts}
    assert (joins["P1"]["top"], joins["P1"]["bottom"]) == ("in", "chassis")
    assert joins["P1"]["wiper"] == joins["R5"]["a"] and joins["R5"]["b"] == joins["V1"]["a.grid"]


@pytest.mark.parametrize("without", ["R5", "C5"])
def test_the_wiper_is_the_grid_where_no_stopper_is(without):
    parts = [row for row in parts_of(LIST) if row["ref"] != without]
    parts, errors = put(parts, "triode", rail="ht.3")
    assert not errors
    grid = next(end.point for row in parts for end in list_ends(row) if row["ref"] == "V1" and end.terminal == "a.grid")
    wiper = next(row for row in parts if row["ref"] == "P1")
    assert (flat_joins(wiper)["wiper"] == grid) == (without == "R5")


@pytest.mark.parametrize(
    ("note", "volts"),
    [
        ("2 x 250 V / 80 mA", "250 V"),
        ("2×300V", "300 V"),
        ("250-0-250 V", "250 V"),
        ("12 x 250 V", None),
        ("2 x 6 V", None),
    ],
)
def test_a_winding_twice_is_read_from_the_words_of_a_note(note, volts):
    parts = [{"ref": "T1", "kind": "mains transformer", "note": note}]
    assert guess_transformer(parts, {"transformer": "T1"}).get("volts") == volts


@pytest.mark.parametrize(
    ("note", "volts"), [("Primary 120 V, 60 Hz", [120]), ("Netztrafo, prim. 115/230 V", [115, 230]), ("HT 250 V", [])]
)
def test_the_primary_is_read_from_the_words_of_a_note(note, volts):
    assert primary_volts(note) == volts


def test_a_transformer_for_other_mains_is_refused():
    """At half the mains every reading would be judged by twice its figure."""
    parts = parts_of(
        LINE_STAGE.replace("Mains transformer 220-0-220 V", "Mains transformer, primary 120 V, 220-0-220 V")
    )
    asked = {"volts": "220 V", "amps": "50 mA", "ohms": "350R", "primary_ohms": "40R"}
    _parts, errors = put(parts, "rectifier", **asked)
    assert [error.code for error in errors.values()] == ["other-mains"]
    _parts, errors = put(parts, "rectifier", mains="117 V", **asked)
    assert not errors


def test_a_choke_without_its_resistance_is_asked_for_it_and_takes_it_beside_its_value():
    parts = parts_of(LINE_STAGE.replace("R1;1k;5%;2 W;Smoothing", "L1;10 H;;;Smoothing choke"))
    refs, asked = {"r1": "L1", "r2": "R2"}, {"volts": "220 V", "amps": "50 mA", "ohms": "350R", "primary_ohms": "40R"}
    _parts, errors = put(parts, "rectifier", refs=refs, **asked)
    assert [error.code for error in errors.values()] == ["choke-ohms"]
    parts, errors = put(parts, "rectifier", refs=refs, values={"r1": "300 Ω"}, **asked)
    assert not errors
    choke = next(row for row in parts if row["ref"] == "L1")
    assert (choke["value"], choke["ohms"]) == ("10 H", "300 Ω")


def test_nothing_is_proposed_of_a_circuit_with_a_wired_part_that_cannot_be_read():
    parts = parts_of(LINE_STAGE)
    parts, _errors = put(parts, "rectifier", volts="220 V", amps="50 mA", ohms="350R", primary_ohms="40R")
    assert propose({"kit": {}, "part": parts, "stage": [], "point": [], "fault": []}).proposals
    broken = [row | {"kind": "inductor", "value": "10 H"} if row["ref"] == "R1" else row for row in parts]
    found = propose({"kit": {}, "part": broken, "stage": [], "point": [], "fault": []})
    assert found.error and not found.proposals
    assert MainsSide.of(broken).nodes and guess_points(BLOCKS["triode"], broken, {"valve": "V1"})


OF_TYPES = """Ref;Wert;Verwendung
V1;ECC83;
V2;EL84;
R1;1M;grid leak, input
R2;100k;anode loads
R6;470k;grid leak EL84
R8;150R 5W;cathode EL 84 - GETS HOT
R9;1k5;cathode ECC83
C4;22n 630V;coupling to EL84
C6;100u 25V;cathode bypass, EL-84
"""


def test_a_note_that_names_a_type_of_valve_gives_its_part_to_those_valves():
    parts = parts_of(OF_TYPES)
    first = guess_refs(BLOCKS["triode"], parts)
    assert (first["valve"], first["rk"], first["ck"], first["leak"]) == ("V1", "R9", "", "R1")
    assert first["couple"] == "C4"  # what drives the output valve has it
    out = guess_refs(BLOCKS["single-ended"], parts)
    assert (out["valve"], out["rk"], out["ck"], out["leak"]) == ("V2", "R8", "C6", "R6")


def test_a_megohm_that_no_note_names_is_the_grid_leak_and_not_the_anode_load():
    parts = parts_of("Ref;Wert\nV1;ECC83\nR7;1M\nR8;1k\nR9;1k5\nR10;100k\n")
    refs = guess_refs(BLOCKS["triode"], parts)
    assert (refs["load"], refs["leak"]) == ("R10", "R7")
