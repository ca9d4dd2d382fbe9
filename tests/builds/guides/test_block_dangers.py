"""What a building block would make dangerous: a bias that is none, and parts that a note gives to another place."""

import pytest

from builds.guides.blocks import BLOCKS
from builds.guides.blocks.guess import guess_refs
from builds.guides.editor.block_form import list_lines
from builds.guides.wiring.ends import flat_joins
from tests.builds.guides.test_wiring_and_blocks import parts_of, put

HEAD = "Ref;Value;Tolerance;Rating;Description;Bag\nT1;;;;Mains transformer;1\nC1;47u;;450 V;Reservoir;\n"
PAIR = "D1, D2;1N4007;;1000 V;;\n"
FOUR = "D1–D4;1N4007;;1000 V;;\n"
BIAS = "D0;1N4007;;1000 V;Bias diode;\nC9;47u;;100 V;Bias;\nR8;15k;;1 W;Bias;\nR9;15k;;1 W;Bias;\n"
SUPPLY = {"volts": "300 V", "amps": "0.1 A", "ohms": "80R", "primary_ohms": "10R"}


def biased(listed: str, how: str, source: str = "ht.a"):
    parts, errors = put(parts_of(HEAD + listed + BIAS), "rectifier", how=how, **SUPPLY)
    assert not errors
    return put(parts, "bias", refs={"feed": "", "r1": "R8", "r2": "R9"}, source=source)


@pytest.mark.parametrize("source", ["ht.a", "ht.b"])
@pytest.mark.parametrize(("listed", "how"), [(FOUR, "bridge"), ("D1;;;;Bridge rectifier;\n", "bridge")])
def test_a_bias_supply_from_a_winding_end_that_a_bridge_holds_at_the_chassis_is_refused(listed, how, source):
    """A bridge's winding ends never go more than a diode drop below its minus (common practice): the bias would be
    nothing, and the output valves would draw what they can."""
    _parts, errors = biased(listed, how, source)
    assert (errors["source"].code, errors["source"].params) == ("bias-bridged", {"point": source})


def test_a_bias_supply_from_a_winding_with_its_centre_at_the_chassis_is_placed_the_right_way_round():
    parts, errors = biased(PAIR, "centre")
    joins = {row["ref"]: flat_joins(row) for row in parts}
    assert not errors
    assert joins["D0"] == {"anode": "bias.raw", "cathode": "ht.a"}  # conducts when the winding end is negative
    assert joins["C9"]["plus"] == "chassis" and joins["C9"]["minus"] == "bias.raw"


def suggested(listed: str) -> tuple[list[str], str]:
    parts = parts_of(HEAD + listed)
    roles, asks = list_lines(BLOCKS["rectifier"], parts)
    how = next(line.text for line in asks if line.name == "how")
    return [line.text for line in roles if line.name in ("d1", "d2", "d3", "d4")], how


@pytest.mark.parametrize(
    ("listed", "refs", "how"),
    [
        (PAIR + BIAS, ["D1", "D2", "", ""], "centre"),
        (FOUR + BIAS, ["D1", "D2", "D3", "D4"], "bridge"),
        ("D1–D3;1N4007;;1000 V;;\n", ["D1", "D2", "", ""], "centre"),
        ("D1;1N4007;;1000 V;;\n" + BIAS, ["D1", "", "", ""], "half"),
        (PAIR + "V9;GZ34;;;;\n", ["V9", "", "", ""], "valve"),
    ],
)
def test_a_rectifier_is_suggested_the_diodes_that_its_arrangement_has_and_never_the_one_of_the_bias(listed, refs, how):
    assert suggested(listed) == (refs, how)


def test_an_anode_load_that_no_note_names_is_not_suggested_as_a_grid_stopper():
    parts = parts_of(HEAD + "V1;ECC83;;;;\nR1;47k;;1 W;;\nR2;47k;;1 W;;\n")
    assert guess_refs(BLOCKS["cathodyne"], parts)["rk"] == "R2"
    refs = guess_refs(BLOCKS["triode"], parts)
    assert (refs["load"], refs["stopper"]) == ("R1", "")
    named = parts_of(HEAD + "V1;ECC83;;;;\nR1;100k;;1 W;;\nR2;68k;;0.5 W;Grid stopper;\n")
    assert guess_refs(BLOCKS["triode"], named)["stopper"] == "R2"


def test_no_socket_is_suggested_as_the_mains_inlet_that_is_not_said_to_be_one():
    signal = "J1;;;;Phono sockets, to and from the tank;\nJ2;;;;;\n"
    assert guess_refs(BLOCKS["rectifier"], parts_of(HEAD + PAIR + signal))["inlet"] == ""
    inlet = "J3;;;;Mains inlet;\n"
    assert guess_refs(BLOCKS["rectifier"], parts_of(HEAD + PAIR + signal + inlet))["inlet"] == "J3"
