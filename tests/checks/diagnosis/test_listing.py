"""Which faults a parts list lets one think of, and what each does, worked out by hand part by part.

Which faults there are is common practice: an open or wrong resistor, bands read for others of IEC 60062, a capacitor
that leaks or is turned, a valve that has lost its emission or holds gas, tags that touch or have no solder.
"""

import pytest

from checks.circuit import part_from_mapping
from checks.diagnosis.codes import FaultCode, Parasitic
from checks.diagnosis.listing import MOST_SWAPS, fault_list, list_strengths

NOWHERE = 1e14  # Ω of what is not there in a good kit
PINS = {
    "a": {"anode": "1", "grid": "2", "cathode": "3"},
    "b": {"anode": "6", "grid": "7", "cathode": "8"},
    "heater": ["4", "5"],
}
JOINS = {
    "a": {"anode": "a", "grid": "g", "cathode": "k"},
    "b": {"anode": "ht", "grid": "a", "cathode": "k2"},
    "heater": ["h1", "chassis"],
}


def part(ref, kind, value="", joins=("x", "y"), **more):
    joins = list(joins) if isinstance(joins, tuple) else joins
    return part_from_mapping({"ref": ref, "kind": kind, "value": value, "joins": joins} | more)


def resistor(ref, value, *joins):
    return part(ref, "resistor", value, joins or ("x", "y"))


def triodes(ref="V1", joins=None, **more):
    more = {"type": "ECC83"} | more
    return part(ref, "twin triode", "", joins or JOINS, base="B9A", pins=PINS, **more)


def faults_of(*parts):
    return {one.key: one for one in fault_list(parts) if one.code is not FaultCode.STRAY_PATH}


def factors(fault):
    return {(move.ref, move.what): pytest.approx(move.factor, rel=1e-3) for move in fault.moves}


def ohms(fault):
    """Of each thing that is not there in a good kit."""
    return {move.ref: move.factor * NOWHERE for move in fault.moves if move.part_of}


def test_a_resistor_opens_shorts_is_a_decade_off_misread_of_another_value_or_joined_cold():
    faults = faults_of(resistor("R1", "10k"))
    assert [*faults] == [
        "R1 open", "R1 short", "R1 x10", "R1 x0.1", "R1 as 20000", "R1 as 30000", "R1 as 100", "R1 other value",
        "R1 cold",
    ]  # fmt: skip
    weights = [3.0, 0.5, 1.0, 1.0, 0.4, 0.4, 0.4, 2.0, 1.0]
    assert [one.weight for one in faults.values()] == weights
    found = {key: one.moves[0].factor for key, one in faults.items()}
    assert found["R1 open"] == pytest.approx(1e10 / 10e3)  # 10 GΩ are left of a joint that is open
    assert found["R1 short"] == pytest.approx(0.5 / 10e3)  # and half an ohm of a short
    assert (found["R1 x10"], found["R1 x0.1"], found["R1 as 30000"], found["R1 as 100"]) == (10.0, 0.1, 3.0, 0.01)
    assert all(one.refs == ("R1",) and one.moves[0].what == "value" for one in faults.values())
    assert faults["R1 as 30000"].params == {
        "part": "R1", "ohms": 30e3, "listed": 10e3, "slip": "colour", "colours": ["brown", "orange"],
    }  # fmt: skip


def test_an_open_resistor_of_little_is_still_a_hundred_times_what_it_was():
    assert faults_of(resistor("R1", "1G"))["R1 open"].moves[0].factor == 100.0


def test_a_value_that_three_bands_cannot_say_is_not_misread():
    assert not [key for key in faults_of(resistor("R1", "10.03k")) if " as " in key]


def test_another_value_may_lie_either_side_and_a_cold_joint_only_above():
    faults = faults_of(resistor("R1", "10k"))
    values, cold = faults["R1 other value"].sizes, faults["R1 cold"].sizes
    assert min(values) < 0.1 and max(values) > 10 and not {0.1, 1.0, 10.0} & {*values}
    assert min(cold) > 1.0


def test_an_open_resistor_lets_the_ions_of_a_valve_decide_about_its_grid():
    faults = faults_of(resistor("R1", "1M", "g", "chassis"), resistor("R2", "1k", "far", "chassis"), triodes())
    assert factors(faults["R1 open"]) == {("R1", "value"): 1e4, ("V1 gas a", "value"): 1e11 / NOWHERE}
    assert [move.ref for move in faults["R2 open"].moves] == ["R2"]
    through = faults_of(resistor("R1", "1M", "g", "n"), resistor("R2", "1k", "n", "chassis"), triodes())
    assert [move.ref for move in through["R2 open"].moves] == ["R2", "V1 gas a"]  # one resistor further


def test_resistors_of_like_value_change_places():
    faults = faults_of(resistor("R1", "10k"), resistor("R2", "22k"), resistor("R3", "22k"), resistor("R4", "1M"))
    swaps = {key: one for key, one in faults.items() if one.code is FaultCode.CHANGED_PLACES}
    assert {*swaps} == {"R1 and R2 swapped", "R1 and R3 swapped"}  # not of one value, nor fifty times apart
    assert factors(swaps["R1 and R2 swapped"]) == {("R1", "value"): 2.2, ("R2", "value"): 10 / 22}
    assert swaps["R1 and R2 swapped"].refs == ("R1", "R2") and swaps["R1 and R2 swapped"].weight == 0.2


@pytest.mark.parametrize(("value", "is_swapped"), [("29.9k", True), ("30.1k", False)])
def test_up_to_thirty_times_apart_they_may_be_taken_for_each_other(value, is_swapped):
    assert ("R1 and R2 swapped" in faults_of(resistor("R1", "1k"), resistor("R2", value))) is is_swapped
    assert ("R1 and R2 swapped" in faults_of(resistor("R1", value), resistor("R2", "1k"))) is is_swapped


def test_of_many_pairs_the_nearest_are_kept():
    many = [resistor(f"R{n}", f"{1000 * 1.05**n:.0f}") for n in range(20)]
    swaps = [one for one in faults_of(*many).values() if one.code is FaultCode.CHANGED_PLACES]
    ratios = [max(move.factor for move in one.moves) for one in swaps]
    assert len(swaps) == MOST_SWAPS < 20 * 19 // 2
    assert max(ratios) < 1.05**6


def test_a_film_capacitor_shorts_leaks_a_little_or_opens():
    faults = faults_of(part("C1", "capacitor", "22n"))
    assert [*faults] == ["C1 short", "C1 leaky", "C1 open"]
    assert [one.weight for one in faults.values()] == [0.3, 0.5, 0.5]
    assert ohms(faults["C1 short"]) == {"C1 leak": pytest.approx(0.5)}
    assert ohms(faults["C1 leaky"]) == {"C1 leak": pytest.approx(5e6)}
    assert factors(faults["C1 open"]) == {("C1", "farads"): 1e-6} and faults["C1 open"].without == ()
    assert faults["C1 leaky"].moves[0].decades == 2.25 and faults["C1 short"].moves[0].decades == 0.0
    assert faults["C1 leaky"].moves[0].part_of is Parasitic.LEAK


@pytest.mark.parametrize(("volts", "leak"), [("25 V", 1e3), ("100 V", 1e3), ("160 V", 15e3)])
def test_an_electrolytic_leaks_more_the_fewer_volts_it_is_for_and_may_be_turned(volts, leak):
    faults = faults_of(part("C2", "electrolytic", "47u", volts=volts))
    assert [*faults] == ["C2 short", "C2 leaky", "C2 open", "C2 reversed"]
    assert ohms(faults["C2 leaky"]) == {"C2 leak": pytest.approx(leak)}
    assert ohms(faults["C2 reversed"]) == {"C2 leak": pytest.approx(10e3)} and faults["C2 reversed"].weight == 1.5
    assert faults["C2 open"].without == ("C2",) and not faults["C2 open"].moves


@pytest.mark.parametrize(("value", "fills"), [("470n", False), ("500n", True), ("2.2u", True)])
def test_a_film_capacitor_that_a_rectifier_may_fill_is_gone_when_it_is_open(value, fills):
    one = faults_of(part("C1", "capacitor", value))["C1 open"]
    assert one.without == (("C1",) if fills else ()) and bool(one.moves) is not fills


def test_a_capacitor_between_a_point_and_itself_can_do_nothing():
    assert not faults_of(part("C1", "capacitor", "22n", ("x", "x")))


def test_a_potentiometers_track_opens():
    pot = part("RV1", "potentiometer", "100k", {"top": "x", "wiper": "y", "bottom": "z"})
    one = faults_of(pot)["RV1 open"]
    assert one.code is FaultCode.TRACK_OPEN and one.moves[0].factor == pytest.approx(1e10 / 100e3)


def test_each_half_of_a_valve_fails_by_itself_and_its_heater_takes_both():
    faults = faults_of(triodes())
    for half in "ab":
        assert factors(faults[f"V1 dead {half}"]) == {("V1", f"{half} strength"): 1e-6}
        assert factors(faults[f"V1 weak {half}"]) == {("V1", f"{half} strength"): 0.35}
        assert ohms(faults[f"V1 gassy {half}"]) == {f"V1 gas {half}": pytest.approx(20e6)}
        assert faults[f"V1 weak {half}"].params["section"] == half
    both = {("V1", "a strength"): 1e-6, ("V1", "b strength"): 1e-6}
    assert factors(faults["V1 heater"]) == factors(faults["V1 dead"]) == both
    assert (faults["V1 heater"].dead_heaters, faults["V1 dead"].dead_heaters) == (("V1",), ())
    assert [faults[f"V1 {what}"].weight for what in ("dead a", "weak a", "gassy a", "heater")] == [1.0, 1.0, 0.3, 1.5]


def test_a_valve_of_one_system_is_dead_once():
    joins = {"anode": "ht", "screen": "ht", "grid": "g", "cathode": "chassis"}
    keys = [*faults_of(part("V2", "pentode", "", joins, type="EL84"))]
    assert [key for key in keys if "dead" in key] == ["V2 dead"] and "V2 heater" in keys


def test_valves_of_two_types_in_like_sockets_are_exchanged():
    other = triodes("V2", type="ECC82")
    octal = part("V3", "twin triode", "", JOINS, type="6SN7", base="octal")
    faults = faults_of(triodes(), triodes("V4"), other, octal)
    exchanged = {key for key, one in faults.items() if one.code is FaultCode.VALVES_EXCHANGED}
    assert exchanged == {"V1 and V2 exchanged", "V4 and V2 exchanged"}
    silent = {(move.ref, move.what) for move in faults["V1 and V2 exchanged"].moves if move.what.endswith("strength")}
    assert silent == {(ref, f"{half} strength") for ref in ("V1", "V2") for half in "ab"}


def test_a_rectifier_valve_conducts_by_one_strength():
    assert list_strengths(triodes()) == ["a strength", "b strength"]
    joins = {"anode_1": "x", "anode_2": "y", "cathode": "ht"}
    assert list_strengths(part("V9", "rectifier valve", "", joins, type="EZ81")) == ["strength"]


def test_neighbouring_tags_touch_and_a_wire_lands_on_the_wrong_one():
    faults = faults_of(triodes())
    touch = faults["V1 bridge 1-2"]
    assert ohms(touch) == {"V1 bridge 1-2": pytest.approx(0.5)} and touch.weight == 0.8
    assert touch.params | {"pin": "1", "other": "2"} == touch.params
    moved = ohms(faults["V1 1 on 2"])
    assert moved["V1 bridge 1-2"] == pytest.approx(0.5)
    assert faults["V1 1 on 2"].params["pin"] == "1" and faults["V1 2 on 1"].params["pin"] == "2"
    assert "V1 bridge 1-3" not in faults


def test_a_tag_without_solder_is_open_and_leaks_to_the_chassis():
    faults = faults_of(triodes())
    joint, stray = (
        {move.ref: move.factor for move in faults["V1 1 dry"].moves}[f"V1 {what} 1"] for what in ("joint", "stray")
    )
    assert joint == pytest.approx(1e10 / 0.05) and stray * NOWHERE == pytest.approx(1e8)
    assert faults["V1 1 dry"].params | {"electrode": "anode", "section": "a"} == faults["V1 1 dry"].params
    assert faults["V1 1 dry"].sizes == ()


def test_a_grid_without_its_wire_goes_where_its_ions_and_a_dirty_socket_take_it():
    one = faults_of(triodes())["V1 2 dry"]
    assert {move.ref for move in one.moves} == {"V1 stray 2", "V1 joint 2", "V1 ions 2"}
    assert [size * NOWHERE for size in one.sizes] == pytest.approx([1e8, 1e9, 1e10, 3e10, 1e11, 1e12])
    assert ohms(one)["V1 ions 2"] == pytest.approx(1e11)


def test_a_cold_tag_has_a_hundred_ohms_to_a_megohm():
    one = faults_of(triodes())["V1 6 cold"]
    assert [size * 0.05 for size in one.sizes] == pytest.approx([100.0, 1e3, 1e4, 1e5, 1e6])
    assert (one.weight, one.code) == (0.3, FaultCode.DRY_PIN)


def test_a_kit_with_nothing_at_its_chassis_has_its_faults_all_the_same():
    joins = {"anode": "ht", "screen": "ht", "grid": "g", "cathode": "k"}
    floating = [part("V2", "pentode", "", joins, type="EL84"), resistor("R1", "1k", "k", "g")]
    keys = {one.key for one in fault_list(floating)}
    assert {"R1 open", "V2 dead", "path ht to chassis"} <= keys
