"""What each building block joins, written out by hand as a designer of the trade would wire it, and what it refuses."""

import pytest

from builds.guides.blocks import BLOCKS, place_block
from builds.guides.wiring.ends import flat_joins, list_ends
from builds.guides.wiring.wires import ends_by_point
from checks.circuit import part_from_mapping

KINDS = {"R": "resistor", "C": "capacitor", "E": "electrolytic", "D": "diode", "F": "fuse", "S": "switch",
         "J": "connector", "L": "inductor"}  # fmt: skip
VALUES = {"resistor": "10k", "capacitor": "100n", "electrolytic": "47u", "fuse": "1 A", "inductor": "10H"}
OCTAL = {"anode": "3", "screen": "4", "grid": "5", "cathode": "8", "heater": ["2", "7"]}
NOVAL = {"a": {"anode": "1", "grid": "2", "cathode": "3"}, "b": {"anode": "6", "grid": "7", "cathode": "8"},
         "heater": ["4", "5"], "heater_centre": "9"}  # fmt: skip
ECC83 = {"ref": "V1", "kind": "twin triode", "type": "ECC83", "base": "B9A", "pins": NOVAL}
TRIODE = {"ref": "V1", "kind": "triode", "type": "6C4", "pins": {"anode": "5", "grid": "6", "cathode": "7"}}
MAINS = {"ref": "T1", "kind": "mains transformer"}
OUTPUT = {"ref": "T2", "kind": "output transformer"}


def valve(ref="V1", type_="6L6"):
    return {"ref": ref, "kind": "pentode", "type": type_, "base": "octal", "pins": OCTAL}


def part(ref):
    kind = KINDS[ref[0]]
    return {"ref": ref, "kind": kind} | ({"value": VALUES[kind]} if kind in VALUES else {})


def place(key, listed=(), roles=None, **said):
    """The block laid with `roles` {role: reference}; parts that no valve or transformer is are made by their letter."""
    refs = dict(roles or {})
    rows = [*listed, *(part(ref) for ref in refs.values() if ref and ref not in {row["ref"] for row in listed})]
    block = BLOCKS[key]
    entries = {ask.name: ask.default for ask in block.asks} | {"mains": "230 V"} | said
    return place_block(block, list({row["ref"]: row for row in rows}.values()), refs, {}, entries)


def nets(key, *listed, **how):
    """Point -> the ends that meet there, as people write them."""
    roles = how.pop("roles")
    parts, errors = place(key, listed, roles, **how)
    assert errors == {}
    unwired = [
        row["ref"] for row in parts if row["kind"] not in ("connector",) and not any(e.point for e in list_ends(row))
    ]
    assert unwired == []
    return {point: {end.address for end in ends} for point, ends in ends_by_point(parts)}


def refused(key, *listed, **how):
    roles = how.pop("roles")
    before = [*listed]
    parts, errors = place(key, listed, roles, **how)
    assert errors and [row for row in parts if row in before] == before  # the list is as it was
    return {name: error.code for name, error in errors.items()}


def test_a_triode_stage_hangs_its_load_from_the_rail_and_its_cathode_parts_to_the_chassis():
    roles = {"valve": "V1", "load": "R1", "rk": "R2", "ck": "E1", "leak": "R3", "cin": "C1", "couple": "C2",
             "stopper": "R4", "jack_in": "J1"}  # fmt: skip
    assert nets("triode", ECC83, roles=roles, section="a", rail="ht.3", input="in", output="drive") == {
        "ht.3": {"R1.a"}, "v1a.anode": {"R1.b", "V1.1", "C2.a"}, "drive": {"C2.b"}, "in": {"C1.a", "J1.tip"},
        "v1a.grid.in": {"C1.b", "R3.a", "R4.a"}, "v1a.grid": {"R4.b", "V1.2"},
        "v1a.cathode": {"V1.3", "R2.a", "E1.+"}, "chassis": {"R2.b", "E1.-", "R3.b", "J1.sleeve"},
    }  # fmt: skip


def test_a_triode_stage_without_a_cathode_resistor_has_its_cathode_at_the_chassis_and_its_leak_at_the_input():
    roles = {"valve": "V1", "load": "R1", "leak": "R3"}
    assert nets("triode", ECC83, roles=roles, section="b", rail="ht", input="v1a.out") == {
        "ht": {"R1.a"}, "v1b.anode": {"R1.b", "V1.6"}, "v1a.out": {"V1.7", "R3.a"}, "chassis": {"V1.8", "R3.b"},
    }  # fmt: skip


def test_an_electrolytic_coupling_has_its_plus_at_the_anode():
    found = nets("triode", TRIODE, roles={"valve": "V1", "load": "R1", "couple": "E2", "leak": "R2"}, section="")
    assert "E2.+" in found["v1.anode"] and found["v1.out"] == {"E2.-"}


def test_a_volume_control_in_place_of_the_leak_has_its_wiper_at_the_grid():
    pot = {"ref": "RV1", "kind": "potentiometer", "value": "100k"}
    found = nets("triode", TRIODE, pot, roles={"valve": "V1", "load": "R1", "leak": "RV1"}, section="", input="in")
    assert found["in"] == {"RV1.top"} and found["v1.grid"] == {"RV1.wiper", "V1.6"}
    assert "RV1.bottom" in found["chassis"]


@pytest.mark.parametrize("key", ["triode", "follower", "cathodyne"])
def test_of_a_double_triode_a_section_must_be_named(key):
    roles = {"triode": {"valve": "V1", "load": "R1"}, "follower": {"valve": "V1", "rk": "R1"},
             "cathodyne": {"valve": "V1", "load": "R1", "rk": "R2"}}[key]  # fmt: skip
    assert refused(key, ECC83, roles=roles, section="") == {"section": "ask-missing"}
    assert any("V1.5" in ends for ends in nets(key, TRIODE, roles=roles, section="").values())


def test_a_follower_has_its_anode_at_the_rail_and_its_output_at_the_cathode():
    roles = {"valve": "V1", "rk": "R1", "cout": "E1", "rout": "R2", "jack_out": "J2"}
    assert nets("follower", ECC83, roles=roles, section="b", rail="ht.2", input="v1a.anode", output="out") == {
        "ht.2": {"V1.6"}, "v1a.anode": {"V1.7"}, "v1b.cathode": {"V1.8", "R1.a", "E1.+"},
        "out": {"E1.-", "R2.a", "J2.tip"}, "chassis": {"R1.b", "R2.b", "J2.sleeve"},
    }  # fmt: skip


def test_a_follower_without_an_output_capacitor_leads_straight_out():
    found = nets("follower", TRIODE, roles={"valve": "V1", "rk": "R1", "jack_out": "J2"}, section="", rail="ht")
    assert found["v1.cathode"] == {"V1.7", "R1.a", "J2.tip"}


def test_a_cathodyne_takes_its_leak_to_the_lower_end_of_its_bias_resistor():
    roles = {"valve": "V1", "load": "R1", "rk": "R2", "rbias": "R3", "leak": "R4", "cin": "C1", "ca": "C2", "cb": "C3"}
    assert nets("cathodyne", ECC83, roles=roles, section="b", rail="ht.2", input="v1a.anode") == {
        "ht.2": {"R1.a"}, "v1b.anode": {"R1.b", "V1.6", "C2.a"}, "drive.1": {"C2.b"},
        "v1b.cathode": {"V1.8", "R3.a", "C3.a"}, "drive.2": {"C3.b"}, "v1b.tap": {"R3.b", "R2.a", "R4.b"},
        "v1a.anode": {"C1.a"}, "v1b.grid": {"C1.b", "R4.a", "V1.7"}, "chassis": {"R2.b"},
    }  # fmt: skip


def test_a_long_tailed_pair_shares_one_cathode_and_its_second_grid_is_held_by_a_capacitor():
    roles = {"valve": "V1", "load1": "R1", "load2": "R2", "rk": "R3", "tail": "R4", "leak": "R5", "leak2": "R6",
             "cin": "C1", "cg": "C2", "ca": "C3", "cb": "C4"}  # fmt: skip
    assert nets("pair", ECC83, roles=roles, rail="ht.2", input="in") == {
        "ht.2": {"R1.a", "R2.a"}, "v1a.anode": {"R1.b", "V1.1", "C3.a"}, "v1b.anode": {"R2.b", "V1.6", "C4.a"},
        "drive.1": {"C3.b"}, "drive.2": {"C4.b"}, "v1.cathodes": {"V1.3", "V1.8", "R3.a"},
        "v1.tail": {"R3.b", "R4.a", "R5.b", "R6.b"}, "in": {"C1.a"}, "v1a.grid": {"C1.b", "V1.2", "R5.a"},
        "v1b.grid": {"V1.7", "R6.a", "C2.a"}, "chassis": {"R4.b", "C2.b"},
    }  # fmt: skip
    assert refused("pair", ECC83, roles=roles | {"leak2": ""}) == {"leak2": "no-grid-leak"}


def test_a_cascade_is_two_stages_one_after_the_other():
    roles = {"valve": "V1", "load1": "R1", "rk1": "R2", "ck1": "E1", "leak1": "R3", "couple1": "C1", "load2": "R4",
             "rk2": "R5", "leak2": "R6", "couple2": "C2"}  # fmt: skip
    assert nets("cascade", ECC83, roles=roles, rail1="ht.3", rail2="ht.2", input="in", output="out") == {
        "ht.3": {"R1.a"}, "ht.2": {"R4.a"}, "in": {"R3.a", "V1.2"}, "v1a.anode": {"R1.b", "V1.1", "C1.a"},
        "v1a.out": {"C1.b", "R6.a", "V1.7"}, "v1b.anode": {"R4.b", "V1.6", "C2.a"}, "out": {"C2.b"},
        "v1a.cathode": {"V1.3", "R2.a", "E1.+"}, "v1b.cathode": {"V1.8", "R5.a"},
        "chassis": {"R2.b", "E1.-", "R3.b", "R5.b", "R6.b"},
    }  # fmt: skip


def test_a_cascode_joins_the_lower_anode_to_the_upper_cathode_and_holds_the_upper_grid():
    roles = {"valve": "V1", "load": "R1", "rg1": "R2", "rg2": "R3", "cg": "C1", "rk1": "R4", "leak1": "R5",
             "couple": "C2"}  # fmt: skip
    assert nets("cascode", ECC83, roles=roles, rail="ht", input="in", output="out") == {
        "ht": {"R1.a", "R2.a"}, "v1b.anode": {"R1.b", "V1.6", "C2.a"}, "out": {"C2.b"},
        "v1b.grid": {"R2.b", "R3.a", "C1.a", "V1.7"}, "v1.middle": {"V1.1", "V1.8"},
        "in": {"V1.2", "R5.a"}, "v1a.cathode": {"V1.3", "R4.a"}, "chassis": {"R3.b", "C1.b", "R4.b", "R5.b"},
    }  # fmt: skip


def test_an_unused_section_is_at_the_chassis_with_all_three_electrodes():
    assert nets("unused", ECC83, roles={"valve_half": "V1"}, section="b") == {"chassis": {"V1.6", "V1.7", "V1.8"}}


IRON = {"primary_ohms": "300R", "secondary_ohms": "0R5"}
SINGLE = {"valve": "V1", "transformer": "T2", "leak": "R1", "stopper": "R2", "screen": "R3", "rk": "R4", "ck": "E1",
          "jack": "J2", "load": "R5"}  # fmt: skip


def test_a_single_ended_pentode_has_its_screen_at_a_supply_of_its_own():
    assert nets("single-ended", valve(), OUTPUT, roles=SINGLE, rail="ht.1", screen_rail="ht.2", input="in", **IRON) == {
        "ht.1": {"T2.primary.1"}, "v1.anode": {"T2.primary.2", "V1.3"}, "ht.2": {"R3.a"}, "v1.screen": {"R3.b", "V1.4"},
        "in": {"R1.a", "R2.a"}, "v1.grid": {"R2.b", "V1.5"}, "v1.cathode": {"V1.8", "R4.a", "E1.+"},
        "speaker": {"T2.secondary.1", "J2.tip", "R5.a"},
        "chassis": {"R1.b", "R4.b", "E1.-", "T2.secondary.2", "J2.sleeve", "R5.b"},
    }  # fmt: skip


@pytest.mark.parametrize(("how", "point"), [("pentode", "ht.2"), ("triode", "v1.anode"), ("taps", "v1.tap")])
@pytest.mark.parametrize("has_resistor", [True, False])
def test_the_screen_goes_where_the_stage_has_it_with_a_resistor_or_straight(how, point, has_resistor):
    roles = {k: v for k, v in SINGLE.items() if has_resistor or k != "screen"}
    found = nets("single-ended", valve(), OUTPUT, roles=roles, how=how, rail="ht.1", screen_rail="ht.2", **IRON)
    assert ("R3.a" if has_resistor else "V1.4") in found[point]


@pytest.mark.parametrize(("tap", "near", "far"), [("43 %", 129, 171), ("20 %", 60, 240), ("50 %", 150, 150)])
def test_a_tapped_primary_is_two_windings_with_its_ohms_by_turns(tap, near, far):
    """From the supply to the tap the share of the tap, from there to the anode the rest."""
    parts, errors = place("single-ended", [valve(), OUTPUT], SINGLE, how="taps", tap=tap, **IRON)
    assert errors == {}
    iron = part_from_mapping(next(row for row in parts if row["ref"] == "T2"))
    ohms = {frozenset(w.nodes): w.ohms for w in iron.windings}
    assert ohms[frozenset({"ht.1", "v1.tap"})] == pytest.approx(near)
    assert ohms[frozenset({"v1.tap", "v1.anode"})] == pytest.approx(far)


@pytest.mark.parametrize("tap", ["0 %", "4 %", "96 %", "100 %"])
def test_a_tap_at_an_end_of_the_winding_is_refused(tap):
    codes = refused("single-ended", valve(), OUTPUT, roles=SINGLE, how="taps", tap=tap, **IRON)
    assert set(codes) == {"tap"}


@pytest.mark.parametrize("roles", [SINGLE, {k: v for k, v in SINGLE.items() if k != "screen"}])
def test_a_pentode_without_a_supply_for_its_screen_is_refused(roles):
    codes = refused("single-ended", valve(), OUTPUT, roles=roles, how="pentode", screen_rail="", **IRON)
    assert codes == {"screen_rail": "ask-missing"}
    for how in ("triode", "taps"):
        nets("single-ended", valve(), OUTPUT, roles=SINGLE, how=how, screen_rail="", **IRON)


def test_fixed_bias_without_a_bias_point_is_refused_and_leaves_no_valve_without_bias():
    codes = refused("single-ended", valve(), OUTPUT, roles=SINGLE, bias="fixed", bias_point="", **IRON)
    assert codes == {"bias_point": "ask-missing"}
    found = nets("single-ended", valve(), OUTPUT, roles=SINGLE, bias="fixed", bias_point="bias", **IRON)
    assert found["bias"] == {"R1.b"}
    two = {"valve1": "V1", "valve2": "V2", "leak1": "R1", "leak2": "R2", "transformer": "T2"}
    codes = refused("push-pull", valve(), valve("V2"), OUTPUT, roles=two, bias="fixed", bias_point="", **IRON)
    assert codes == {"bias_point": "ask-missing"}


def test_cathode_bias_without_its_resistor_is_refused():
    roles = {k: v for k, v in SINGLE.items() if k not in ("rk", "ck")}
    assert refused("single-ended", valve(), OUTPUT, roles=roles, bias="cathode", **IRON) == {"rk": "role-missing"}
    found = nets("single-ended", valve(), OUTPUT, roles=roles, bias="fixed", **IRON)
    assert "V1.8" in found["chassis"]


PAIR = {"valve1": "V1", "valve2": "V2", "leak1": "R1", "leak2": "R2", "transformer": "T2", "rk1": "R3", "ck1": "E1"}


def test_a_push_pull_pair_shares_a_cathode_resistor_and_the_supply_is_in_the_middle():
    found = nets("push-pull", valve(), valve("V2"), OUTPUT, roles=PAIR, how="triode", rail="ht.1", **IRON)
    assert found["v1.anode"] == {"V1.3", "V1.4", "T2.primary.1"} and found["ht.1"] == {"T2.primary.2"}
    assert found["v2.anode"] == {"V2.3", "V2.4", "T2.primary.3"}
    assert found["v1.cathodes"] == {"V1.8", "V2.8", "R3.a", "E1.+"}
    assert found["drive.1"] == {"R1.a", "V1.5"} and found["drive.2"] == {"R2.a", "V2.5"}


def test_two_cathode_resistors_keep_the_cathodes_apart():
    roles = PAIR | {"rk2": "R4", "ck2": "E2"}
    found = nets("push-pull", valve(), valve("V2"), OUTPUT, roles=roles, how="triode", **IRON)
    assert found["v1.cathode"] == {"V1.8", "R3.a", "E1.+"} and found["v2.cathode"] == {"V2.8", "R4.a", "E2.+"}


def test_an_ultralinear_primary_is_wound_from_anode_to_anode_with_the_supply_in_the_middle():
    """40 % of each half of 150 Ω: 60 Ω next to the supply, 90 Ω next to the anode."""
    parts, errors = place("push-pull", [valve(), valve("V2"), OUTPUT], PAIR, how="taps", tap="40 %", rail="ht", **IRON)
    assert errors == {}
    row = next(row for row in parts if row["ref"] == "T2")
    order = [tuple(w["joins"]) for w in row["winding"] if w["name"].startswith("primary")]
    assert order == [("v1.anode", "v1.tap"), ("v1.tap", "ht"), ("ht", "v2.tap"), ("v2.tap", "v2.anode")]
    ohms = [w.ohms for w in part_from_mapping(row).windings if w.name.startswith("primary")]
    assert ohms == pytest.approx([90, 60, 60, 90])


def test_both_sections_of_a_double_triode_work_in_parallel_as_one_output_valve():
    roles = {"valve": "V1", "transformer": "T2", "leak": "R1", "rk": "R2"}
    found = nets("single-ended", ECC83, OUTPUT, roles=roles, how="triode", input="in", **IRON)
    assert found["v1.anode"] == {"V1.1", "V1.6", "T2.primary.2"} and found["in"] == {"V1.2", "V1.7", "R1.a"}
    assert found["v1.cathode"] == {"V1.3", "V1.8", "R2.a"}


HT = {"volts": "250 V", "amps": "50 mA", "ohms": "300R", "primary_ohms": "30R"}


def supply(how, *rectifiers, **more):
    roles = {"transformer": "T1", "c1": "E1"} | {f"d{n}": row["ref"] for n, row in enumerate(rectifiers, 1)} | more
    return nets("rectifier", MAINS, *rectifiers, roles=roles, how=how, rail="ht", **HT)


def diode(n):
    return {"ref": f"D{n}", "kind": "diode", "type": "1N4007"}


BRIDGE = {"ref": "D1", "kind": "bridge"}
EZ81 = {"ref": "V9", "kind": "rectifier valve", "type": "EZ81",
        "pins": {"anode_1": "1", "anode_2": "7", "cathode": "3", "heater": ["4", "5"]}}  # fmt: skip


def test_two_diodes_lead_from_both_ends_of_a_winding_with_its_centre_at_the_chassis():
    found = supply("centre", diode(1), diode(2))
    assert found["ht.a"] == {"T1.ht.1", "D1.anode"} and found["ht.b"] == {"T1.ht.3", "D2.anode"}
    assert found["ht.1"] == {"D1.cathode", "D2.cathode", "E1.+"} and found["chassis"] == {"T1.ht.2", "E1.-"}


def test_four_diodes_make_a_bridge_with_nothing_of_the_winding_at_the_chassis():
    found = supply("bridge", *map(diode, (1, 2, 3, 4)))
    assert found["ht.a"] == {"T1.ht.1", "D1.anode", "D3.cathode"}
    assert found["ht.b"] == {"T1.ht.2", "D2.anode", "D4.cathode"}
    assert found["ht.1"] == {"D1.cathode", "D2.cathode", "E1.+"}
    assert found["chassis"] == {"D3.anode", "D4.anode", "E1.-"}


def test_a_bridge_in_one_case_is_joined_by_its_four_legs():
    found = supply("bridge", BRIDGE)
    assert found["ht.a"] == {"T1.ht.1", "D1.ac1"} and found["ht.b"] == {"T1.ht.2", "D1.ac2"}
    assert found["ht.1"] == {"D1.+", "E1.+"} and found["chassis"] == {"D1.-", "E1.-"}


def test_one_diode_leads_from_the_end_of_a_winding_whose_other_end_is_at_the_chassis():
    found = supply("half", diode(1))
    assert found["ht.a"] == {"T1.ht.1", "D1.anode"} and found["chassis"] == {"T1.ht.2", "E1.-"}


def test_a_rectifier_valve_takes_both_ends_to_its_anodes():
    found = supply("valve", EZ81)
    assert found["ht.a"] == {"T1.ht.1", "V9.1"} and found["ht.b"] == {"T1.ht.3", "V9.7"}
    assert found["ht.1"] == {"V9.3", "E1.+"}


@pytest.mark.parametrize(("how", "row"), [
    ("centre", BRIDGE), ("centre", EZ81), ("half", BRIDGE), ("half", EZ81), ("bridge", EZ81), ("valve", BRIDGE),
    ("valve", diode(1)),
])  # fmt: skip
def test_a_rectifier_that_the_arrangement_is_not_made_for_is_refused(how, row):
    roles = {"transformer": "T1", "c1": "E1", "d1": row["ref"], "d2": "D2", "d3": "D3", "d4": "D4"}
    rows = [row, *(diode(n) for n in (2, 3, 4))]
    assert refused("rectifier", MAINS, *rows, roles=roles, how=how, **HT) == {"d1": "role-kind"}


@pytest.mark.parametrize(("how", "given", "missing"), [("centre", 1, "d2"), ("bridge", 1, "d2"), ("bridge", 2, "d3"),
                                                       ("bridge", 3, "d4")])  # fmt: skip
def test_an_arrangement_with_too_few_diodes_is_refused(how, given, missing):
    roles = {"transformer": "T1", "c1": "E1"} | {f"d{n}": f"D{n}" for n in range(1, given + 1)}
    rows = [diode(n) for n in range(1, given + 1)]
    assert refused("rectifier", MAINS, *rows, roles=roles, how=how, **HT) == {missing: "role-missing"}


def test_the_mains_pass_fuse_and_switch_in_that_order_before_the_primary():
    found = supply("half", diode(1), inlet="J1", fuse="F1", switch="S1")
    assert found["mains.inlet"] == {"J1.live", "F1.a"} and found["mains.fused"] == {"F1.b", "S1.a"}
    assert found["mains.live"] == {"S1.b", "T1.primary.1"}
    assert found["mains.neutral"] == {"J1.neutral", "T1.primary.2"} and "J1.earth" in found["chassis"]


@pytest.mark.parametrize(("more", "live"), [({"inlet": "J1"}, {"J1.live", "T1.primary.1"}),
                                            ({"inlet": "J1", "fuse": "F1"}, {"F1.b", "T1.primary.1"})])  # fmt: skip
def test_without_a_switch_or_a_fuse_the_lead_goes_on(more, live):
    assert supply("half", diode(1), **more)["mains.live"] == live


def test_a_mains_switch_is_open_while_the_power_is_off():
    roles = {"transformer": "T1", "c1": "E1", "d1": "D1", "switch": "S1"}
    parts, _errors = place("rectifier", [MAINS, diode(1)], roles, how="half", **HT)
    assert next(row for row in parts if row["ref"] == "S1")["open_when_off"] is True


def test_smoothing_goes_on_section_by_section_and_an_ht_fuse_comes_first():
    choke = {"ref": "L1", "kind": "inductor", "value": "10H", "ohms": "200R"}
    roles = {"transformer": "T1", "c1": "E1", "d1": "D1", "r1": "L1", "c2": "E2", "r2": "R2", "c3": "E3",
             "ht_fuse": "F2", "bleeder": "R9"}  # fmt: skip
    found = nets("rectifier", MAINS, diode(1), choke, roles=roles, how="half", rail="bplus", **HT)
    assert found["bplus.rectified"] == {"D1.cathode", "F2.a"}
    assert found["bplus.1"] == {"F2.b", "E1.+", "L1.a", "R9.a"}
    assert found["bplus.2"] == {"L1.b", "E2.+", "R2.a"} and found["bplus.3"] == {"R2.b", "E3.+"}


def test_a_choke_whose_resistance_nobody_says_is_refused():
    roles = {"transformer": "T1", "c1": "E1", "d1": "D1", "r1": "L1"}
    assert refused("rectifier", MAINS, diode(1), roles=roles, how="half", **HT) == {"r1": "choke-ohms"}


def heaters(ground, *valves, feed="halves", **more):
    roles = {"transformer": "T1"} | more
    return nets("heaters", MAINS, *valves, roles=roles, ground=ground, feed=feed, amps="2 A", ohms="0R1",
                valves=" ".join(v["ref"] for v in valves))  # fmt: skip


def test_a_double_heater_in_parallel_has_both_ends_at_one_point_and_its_centre_at_the_other():
    found = heaters("resistors", ECC83, valve("V2"), ra="R1", rb="R2")
    assert found["heater.a"] == {"T1.heater.1", "V1.4", "V1.5", "V2.2", "R1.a"}
    assert found["heater.b"] == {"T1.heater.2", "V1.9", "V2.7", "R2.a"}
    assert found["chassis"] == {"R1.b", "R2.b"}


def test_a_double_heater_in_series_leaves_its_centre_free():
    found = heaters("side", ECC83, feed="series")
    assert found["heater.a"] == {"T1.heater.1", "V1.4"} and found["chassis"] == {"T1.heater.2", "V1.5"}


def test_a_centre_tap_of_the_heater_winding_is_at_the_chassis():
    assert heaters("centre", valve())["chassis"] == {"T1.heater.2"}


def test_balance_needs_both_resistors_and_a_heater_needs_its_pins():
    base = {"amps": "2 A", "ohms": "0R1", "valves": "V1"}
    assert refused("heaters", MAINS, ECC83, roles={"transformer": "T1", "ra": "R1"}, **base) == {"rb": "role-missing"}
    for bare, code in (({k: v for k, v in ECC83.items() if k != "pins"}, "no-valve"), (TRIODE, "no-heater")):
        assert refused("heaters", MAINS, bare, roles={"transformer": "T1"}, ground="side", **base) == {"valves": code}
    missing = base | {"valves": "V7"}
    assert refused("heaters", MAINS, ECC83, roles={"transformer": "T1"}, ground="side", **missing) == {
        "valves": "no-valve"
    }


def test_a_bias_supply_is_negative_its_diode_and_both_capacitors_turned_round():
    roles = {"d": "D1", "c1": "E1", "r1": "R1", "c2": "E2", "r2": "R2", "feed": "R3"}
    assert nets("bias", roles=roles, source="ht.a", out="bias") == {
        "ht.a": {"R3.a"}, "bias.feed": {"R3.b", "D1.cathode"}, "bias.raw": {"D1.anode", "E1.-", "R1.a"},
        "bias": {"R1.b", "E2.-", "R2.a"}, "chassis": {"E1.+", "E2.+", "R2.b"},
    }  # fmt: skip


def test_a_regulator_stands_between_its_capacitors():
    u = {"ref": "U1", "kind": "regulator", "value": "12 V"}
    found = nets("regulator", u, roles={"u": "U1", "cin": "E1", "cout": "C1"}, **{"in": "raw", "out": "dc"})
    assert found == {"raw": {"U1.input", "E1.+"}, "dc": {"U1.output", "C1.a"}, "chassis": {"U1.common", "E1.-", "C1.b"}}


@pytest.mark.parametrize("text", ["0 V", "-250 V", "a lot", "250 A", ""])
def test_a_figure_that_is_none_is_refused_at_its_field(text):
    codes = refused("rectifier", MAINS, diode(1), roles={"transformer": "T1", "c1": "E1", "d1": "D1"}, how="half",
                    **HT | {"volts": text})  # fmt: skip
    assert set(codes) == {"volts"}


@pytest.mark.parametrize("text", ["", "ht 1", "ht,1", "<ht>", "x" * 61, ".ht"])
def test_a_point_that_cannot_be_one_is_refused_at_its_field(text):
    codes = refused("triode", TRIODE, roles={"valve": "V1", "load": "R1"}, section="", rail=text)
    assert set(codes) == {"rail"}


def test_a_choice_that_is_not_offered_is_refused():
    codes = refused("rectifier", MAINS, diode(1), roles={"transformer": "T1", "c1": "E1", "d1": "D1"}, how="full", **HT)
    assert codes == {"how": "ask-missing"}


def test_a_part_in_two_places_is_refused_at_both():
    codes = refused("triode", TRIODE, roles={"valve": "V1", "load": "R1", "rk": "R1"}, section="")
    assert codes == {"load": "role-twice", "rk": "role-twice"}


def test_a_part_that_is_joined_elsewhere_is_left_as_it_is():
    taken = {"ref": "R1", "kind": "resistor", "value": "100k", "joins": ["elsewhere", "v1.anode"]}
    codes = refused("triode", TRIODE, taken, roles={"valve": "V1", "load": "R1"}, section="", rail="ht")
    assert codes == {"load": "role-wired"}
    agreed = taken | {"joins": ["ht", "v1.anode"]}
    parts, errors = place("triode", [TRIODE, agreed], {"valve": "V1", "load": "R1"}, section="", rail="ht")
    assert errors == {} and flat_joins(parts[1]) == {"a": "ht", "b": "v1.anode"}
