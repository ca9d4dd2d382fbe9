"""Two triodes laid as one block stand where arithmetic puts them, and none is left without a grid leak."""

import pytest

from builds.guides.blocks import BLOCKS
from builds.guides.blocks.guess import guess_refs
from builds.guides.proposals.propose import propose
from builds.guides.wiring.ends import flat_joins
from tests.builds.guides.test_block_grids import koren_12au7, supplied
from tests.builds.guides.test_wiring_and_blocks import parts_of, put

PARTS = """\
R31;100k;1 W;Anode load V1a
R32;2k2;0.5 W;Cathode V1a
R33;1M;0.5 W;Grid leak V1a
C31;100n;400 V;Coupling V1a
R41;47k;1 W;Anode load V1b
R42;1k5;0.5 W;Cathode V1b
R43;470k;0.5 W;Grid leak V1b
R51;470k;0.5 W;divider
R52;220k;0.5 W;divider
C51;220n;400 V;grid of the upper section
"""
NONE = dict.fromkeys(("ck1", "ck2", "stopper1", "stopper2", "couple2", "jack_in", "leak1", "leak2", "couple1"), "")
CASCADE = NONE | {"valve": "V1", "load1": "R31", "rk1": "R32", "leak1": "R33", "couple1": "C31", "load2": "R41"}
CASCADE |= {"rk2": "R42", "leak2": "R43"}
CASCODE = {"valve": "V1", "load": "R41", "rk1": "R42", "leak1": "R33", "rg1": "R51", "rg2": "R52", "cg": "C51"}
CASCODE |= {"ck1": "", "stopper1": "", "couple": "", "jack_in": ""}


def volts_of(parts) -> dict[str, float]:
    live = propose({"kit": {}, "part": parts, "stage": [], "point": [], "fault": []})
    assert live.error is None
    return {p.row["red"]: p.value for p in live.proposals if p.stage == live.places.full and p.unit == "V"}


def balance(flows) -> float:
    """The current from 0 to 10 mA at which `flows(amps)` is the current again, falling with it."""
    low, high = 0.0, 10e-3
    for _step in range(60):
        amps = (low + high) / 2
        low, high = (amps, high) if flows(amps) > amps else (low, amps)
    return amps


@pytest.mark.lengthy
def test_two_stages_in_cascade_stand_each_where_its_own_load_line_puts_it():
    parts, errors = put(supplied(PARTS, without="V2"), "cascade", refs=CASCADE, rail1="ht.2", rail2="ht.2")
    assert not errors
    volts = volts_of(parts)
    for load, rk, anode in ((100e3, 2200, volts["V1.6"]), (47e3, 1500, volts["V1.1"])):
        amps = balance(lambda i, load=load, rk=rk: koren_12au7(-i * rk, volts["ht.2"] - i * (load + rk)))
        assert volts["ht.2"] - anode == pytest.approx(amps * load, rel=0.08)


def test_a_cascade_coupled_directly_has_the_second_grid_at_the_first_anode():
    direct = CASCADE | {"couple1": "", "leak2": ""}
    parts, errors = put(supplied(PARTS, without="V2"), "cascade", refs=direct, rail1="ht.2", rail2="ht.2")
    assert not errors
    joins = flat_joins(next(row for row in parts if row["ref"] == "V1"))
    assert joins["b.grid"] == joins["a.anode"] == "v1a.anode"


def test_a_volume_control_between_two_stages_has_the_second_grid_at_its_wiper():
    pot = CASCADE | {"leak2": "P1"}
    listed = supplied(PARTS + "P1;470k log;;Volume between the stages\n", without="V2")
    assert next(row for row in listed if row["ref"] == "P1")["kind"] == "potentiometer"
    parts, errors = put(listed, "cascade", refs=pot, rail1="ht.2", rail2="ht.2")
    assert not errors
    ends = flat_joins(next(row for row in parts if row["ref"] == "P1"))
    assert ends == {"top": "v1a.out", "wiper": "v1b.wiper", "bottom": "chassis"}
    assert flat_joins(next(row for row in parts if row["ref"] == "V1"))["b.grid"] == "v1b.wiper"


def test_no_grid_of_a_cascade_is_left_behind_a_capacitor_without_a_leak():
    listed = supplied(PARTS, without="V2")
    same, errors = put(listed, "cascade", refs=CASCADE | {"leak2": ""}, rail1="ht.2", rail2="ht.2")
    assert same == listed and errors["leak2"].code == "no-grid-leak"


@pytest.mark.lengthy
def test_a_cascode_stands_where_an_independent_calculation_puts_it():
    """One current through both triodes: for each, the middle lets the upper carry what the lower one does."""
    parts, errors = put(supplied(PARTS, without="V2"), "cascode", refs=CASCODE, rail="ht.2")
    assert not errors
    volts = volts_of(parts)
    rail, grid = volts["ht.2"], volts["ht.2"] * 220 / 690

    def flows(amps: float) -> float:
        low, high = 0.0, rail
        for _step in range(60):  # where the lower triode carries as much as the upper one
            middle = (low + high) / 2
            lower = koren_12au7(-amps * 1500, middle - amps * 1500)
            upper = koren_12au7(grid - middle, rail - amps * 47e3 - middle)
            low, high = (middle, high) if upper > lower else (low, middle)
        return lower

    amps = balance(flows)
    assert volts["V1.2"] == pytest.approx(grid, rel=0.02)  # 12AU7: grid of the second triode
    assert rail - volts["V1.1"] == pytest.approx(amps * 47e3, rel=0.1)
    assert grid < volts["V1.6"] < grid + 20  # the middle, a bias above the upper grid


OUTPUT = """Ref;Value;Description
V1;ECC83;
V2;6080;
V3;EL84;
R1;470k;Grid leak
R2;1k;Grid stopper
R3;330;Cathode
C1;220u 100V;Cathode
T2;;Output transformer 2k5:8 ohm
"""


def test_both_sections_of_a_twin_triode_may_be_one_output_valve():
    parts = [part for part in parts_of(OUTPUT) if part["ref"] != "V3"]
    said = {"primary_ohms": "120R", "secondary_ohms": "0.5R", "how": "triode", "input": "v1a.out", "rail": "ht.1"}
    parts, errors = put(parts, "single-ended", refs={"valve": "V2"}, **said)
    assert not errors
    joins = flat_joins(next(part for part in parts if part["ref"] == "V2"))
    both = [{joins[f"{section}.{end}"] for section in "ab"} for end in ("anode", "grid", "cathode")]
    assert both == [{"v2.anode"}, {"v2.grid"}, {"v2.cathode"}]


def test_a_twin_triode_is_suggested_as_the_output_valve_only_where_no_other_is_left():
    assert guess_refs(BLOCKS["single-ended"], parts_of(OUTPUT))["valve"] == "V3"
