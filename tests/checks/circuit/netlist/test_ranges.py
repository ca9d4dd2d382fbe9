"""Ranges of good builds: the shapes they are drawn from, whose figure goes first, and which wires are one."""

from math import erf, sqrt

import numpy as np
import pytest

from checks.circuit import Condition, part_from_mapping, read_condition
from checks.circuit.netlist.parameters import Assumed, Parameter, Parameters
from checks.circuit.netlist.tolerances import list_parameters
from checks.circuit.netlist.unsupported import Unsupported, spread_unsupported
from checks.circuit.netlist.wires import CHASSIS, Groups, merged_nodes
from checks.circuit.valves.tested import CURVES_MISS
from checks.errors import ChecksError
from tests.checks.circuit.kits import capacitor, diode, parts_of, pentode, resistor, transformer, triode, twin


def test_a_part_sold_to_limits_is_as_likely_anywhere_between_them():
    row = Parameter("R1", "value", 0.1, 0.3)
    assert row.multiplier(np.array([0.0, 0.25, 0.5, 1.0])) == pytest.approx([0.9, 1.0, 1.1, 1.3])


def test_a_valves_strength_is_normal_with_its_limits_at_two_deviations():
    """Against the normal distribution's own function: the share below z is (1 + erf(z/√2))/2."""
    row = Parameter("V1", "strength", 0.3, 0.2, "normal")
    below = [(1 + erf(z / sqrt(2))) / 2 for z in (-2, -1, 0, 1, 2)]
    inside = [(share - below[0]) / (below[4] - below[0]) for share in below]
    assert row.multiplier(np.array(inside)) == pytest.approx([0.7, 0.85, 1.0, 1.1, 1.2], abs=1e-9)


@pytest.mark.parametrize("shape", ["rectangular", "normal"])
def test_no_multiplier_is_drawn_outside_its_range(shape):
    row = Parameter("R1", "value", 0.05, 0.2, shape)
    drawn = Parameters((row,)).draw(2000, 3)
    assert drawn.shape == (2000, 2) and (drawn[:, 1] == 1).all()
    assert 0.95 <= drawn[:, 0].min() < 0.96 and 1.15 < drawn[:, 0].max() <= 1.2


def test_a_draw_is_the_same_for_the_same_seed_and_another_for_another():
    rows = Parameters((Parameter("R1", "value", 0.1, 0.1), Parameter("R2", "value", 0.1, 0.1)))
    assert (rows.draw(50, 7) == rows.draw(50, 7)).all()
    assert (rows.draw(50, 7) != rows.draw(50, 8)).any()
    assert abs(np.corrcoef(rows.draw(2000, 1)[:, :2].T)[0, 1]) < 0.1  # parts vary by themselves


def test_one_at_a_time_moves_each_to_its_ends_and_leaves_the_others():
    rows = Parameters((Parameter("R1", "value", 0.1, 0.2), Parameter("R2", "value", 0.05, 0.05)))
    moved = np.array([[0.9, 1, 1], [1, 0.95, 1], [1.2, 1, 1], [1, 1.05, 1]])
    assert rows.one_at_a_time() == pytest.approx(moved)
    assert rows.nominal().tolist() == [[1, 1, 1]]
    assert rows.index("R2", "value") == 1 and rows.index("R2", "ohms") == rows.index("R3", "value") == rows.fixed == 2


@pytest.mark.parametrize("figures", [(-0.1, 0.1), (0.1, -0.1), (float("nan"), 0.1), (0.1, float("inf"))])
def test_no_range_is_below_nought(figures):
    with pytest.raises(ChecksError):
        Parameter("R1", "value", *figures)


def ranges(*rows, **how):
    return {(p.ref, p.what): p for p in list_parameters(parts_of(*rows), **how).rows}


def test_each_kind_of_part_varies_in_what_it_is_made_for():
    rows = [
        resistor("R1", "a", "b", "1k"),
        {"ref": "RV1", "kind": "potentiometer", "value": "10k", "joins": {"top": "a", "wiper": "b", "bottom": "c"}},
        {"ref": "L1", "kind": "inductor", "value": "10H", "ohms": "100R", "joins": ["a", "b"]},
        {"ref": "F1", "kind": "fuse", "value": "1 A", "joins": ["a", "b"]},
        {"ref": "E1", "kind": "lamp", "ohms": "20R", "joins": ["a", "b"]},
        {"ref": "N1", "kind": "neon", "value": "90 V", "joins": ["a", "b"]},
        {"ref": "TH1", "kind": "thermistor", "value": "50R", "ohms": "1R", "amps": "2 A", "joins": ["a", "b"]},
        {"ref": "D9", "kind": "diode", "value": "LED, red", "joins": {"anode": "a", "cathode": "b"}},
        {"ref": "Q1", "kind": "n-channel mosfet", "joins": {"gate": "a", "drain": "b", "source": "c"}},
        {"ref": "Q2", "kind": "npn transistor", "joins": {"base": "a", "collector": "b", "emitter": "c"}},
        capacitor("C1", "a", "b") | {"leakage": "0.1 mA"},
    ]
    assert {(ref, what) for ref, what in ranges(*rows)} == {
        ("R1", "value"), ("RV1", "value"), ("L1", "ohms"), ("F1", "ohms"), ("E1", "ohms"), ("N1", "value"),
        ("N1", "lit"), ("TH1", "ohms"), ("D9", "drop"), ("Q1", "threshold"), ("Q1", "transconductance"),
        ("Q2", "gain"), ("Q2", "base volts"), ("C1", "leakage"),
    }  # fmt: skip


def test_what_passes_no_direct_current_or_drops_as_all_of_its_kind_do_has_no_range():
    assert ranges(capacitor("C1", "a", "b"), diode("D1", "a", "b"),
                  {"ref": "S1", "kind": "switch", "joins": ["a", "b"]}) == {}  # fmt: skip


def test_capacitances_and_amplification_come_in_only_with_signals():
    rows = [capacitor("C1", "a", "b"), twin("V1", ("a1", "g1", "k1"), ("a2", "g2", "k2")),
            {"ref": "L1", "kind": "inductor", "value": "10H", "ohms": "100R", "joins": ["a", "b"]}]  # fmt: skip
    only = set(ranges(*rows, signals=True)) - set(ranges(*rows))
    assert only == {("C1", "farads"), ("L1", "henries"), ("V1", "capacitances"), ("V1", "a amplification"),
                    ("V1", "b amplification"), ("signal", "level")}  # fmt: skip


def test_a_tolerance_of_nought_is_no_range_and_is_not_assumed():
    assert ranges(resistor("R1", "a", "b", "1k", "0%")) == {}
    row = ranges(resistor("R1", "a", "b", "1k", "1%"))["R1", "value"]
    assert (row.minus, row.plus, row.assumed) == (0.01, 0.01, None)
    bare = ranges(resistor("R1", "a", "b", "1k", ""))["R1", "value"]
    assert (bare.minus, bare.plus, bare.assumed) == (0.05, 0.05, Assumed.VALUE)


def test_a_line_that_may_lie_anywhere_is_one_more_range_and_a_known_line_is_none():
    assert ("line", "volts") not in ranges(resistor("R1", "a", "b", "1k"))
    row = ranges(resistor("R1", "a", "b", "1k"), line_spread=0.1)["line", "volts"]
    assert (row.minus, row.plus, row.shape) == (0.1, 0.1, "rectangular")


def test_the_windings_of_a_secondary_vary_in_volts_and_ohms_and_those_of_the_primary_in_ohms():
    rows = ranges(transformer(("ht", "250 V", "100R", ("a", "chassis"))))
    assert set(rows) == {("T1", "primary ohms"), ("T1", "ht ohms"), ("T1", "ht volts")}
    assert rows["T1", "ht volts"].plus == 0.03 and rows["T1", "ht ohms"].plus == 0.10


def test_windings_that_may_be_cold_or_twice_as_warm_vary_by_both_in_quadrature():
    """±10 % of making and ±(1 − 1/1.117) of warmth: √(0.1² + 0.1047²)."""
    rows = ranges(transformer(("ht", "250 V", "100R", ("a", "chassis"))), winding_factor=1.117)
    assert rows["T1", "ht ohms"].plus == pytest.approx(sqrt(0.1**2 + (1 - 1 / 1.117) ** 2), rel=1e-9)
    assert rows["T1", "ht volts"].plus == 0.03


def test_each_section_of_a_double_triode_varies_by_itself():
    rows = ranges(twin("V1", ("a1", "g1", "k1"), ("a2", "g2", "k2")))
    assert set(rows) == {("V1", "a strength"), ("V1", "b strength"), ("V1", "heater amps")}
    assert all(row.shape == "normal" for row in rows.values())


def test_matched_valves_and_valves_that_were_measured_vary_less():
    kit = twin("V1", ("a1", "g1", "k1"), ("a2", "g2", "k2"))
    assert ranges(kit | {"tolerance": "5%"})["V1", "a strength"].plus == 0.05
    measured = {"anode_volts": 250, "grid_volts": -2, "anode_amps": 1.2e-3, "accuracy": 0.02}
    rows = ranges(kit | {"tested": {"a": measured}})
    assert rows["V1", "a strength"].plus == pytest.approx(sqrt(0.02**2 + CURVES_MISS**2))
    assert rows["V1", "b strength"].plus > rows["V1", "a strength"].plus
    assert rows["V1", "a strength"].assumed is None


def test_the_screen_of_a_pentode_has_its_own_share():
    rows = ranges(pentode("V1", "a", "s", "g", "k"))
    assert ("V1", "screen share") in rows and ("V1", "screen share") not in ranges(triode("V1", "a", "g", "k"))
    assert ranges(pentode("V1", "a", "s", "g", "k", tolerance="60%"))["V1", "screen share"].plus == 0.3


@pytest.mark.parametrize(("value", "is_biased"), [("3M3", True), ("10M", True), ("3M", False), ("1M", False)])
def test_a_grid_on_a_very_large_leak_is_biased_by_its_own_current(value, is_biased):
    rows = ranges(triode("V1", "a", "g", "chassis"), resistor("R1", "g", "chassis", value))
    assert (("V1", "contact") in rows) == is_biased


def numbers(*rows, condition=None):
    return merged_nodes(parts_of(*rows), condition or Condition())


def wire(ref, a, b, kind="link", **more):
    return {"ref": ref, "kind": kind, "joins": [a, b], **more}


def test_links_and_closed_switches_make_one_wire_of_two_names():
    nodes = numbers(resistor("R1", "a", "b", "1k"), wire("LK1", "b", "c"), wire("S1", "c", "d", "switch"))
    assert nodes["b"] == nodes["c"] == nodes["d"] != nodes["a"]
    assert nodes[CHASSIS] == max(nodes.values()) and sorted(set(nodes.values())) == [0, 1, 2]


def test_a_switch_that_opens_with_the_power_is_no_wire_while_it_is_off():
    switch = wire("S1", "a", "b", "switch", open_when_off=True)
    for power, joined in (("on", True), ("off", False)):
        nodes = numbers(resistor("R1", "a", "b", "1k"), switch, condition=Condition(power))
        assert (nodes["a"] == nodes["b"]) == joined
    plain = numbers(resistor("R1", "a", "b", "1k"), wire("S1", "a", "b", "switch"), condition=Condition("off"))
    assert plain["a"] == plain["b"]


def test_what_is_not_fitted_joins_nothing():
    nodes = numbers(resistor("R1", "a", "b", "1k"), wire("LK1", "a", "b"), condition=Condition(not_fitted={"LK1"}))
    assert nodes["a"] != nodes["b"]


@pytest.mark.parametrize(("setting", "end"), [(0.0, "bottom"), (1.0, "top"), (0.5, None)])
def test_a_control_at_the_end_of_its_track_joins_its_wiper_there(setting, end):
    pot = {"ref": "RV1", "kind": "potentiometer", "value": "10k", "joins": {"top": "t", "wiper": "w", "bottom": "b"}}
    for rows, condition in (([pot | {"setting": setting}], None), ([pot], Condition(settings=(("RV1", setting),)))):
        nodes = numbers(*rows, condition=condition)
        assert [nodes["w"] == nodes[name] for name in "tb"] == [end == "top", end == "bottom"]


def test_a_name_joined_to_the_chassis_by_a_wire_is_the_chassis():
    nodes = numbers(resistor("R1", "a", "star", "1k"), wire("LK1", "star", "chassis"))
    assert nodes["star"] == nodes[CHASSIS] == 1 and nodes["a"] == 0


def test_things_are_together_through_any_number_of_joints_and_not_before():
    groups = Groups()
    for n in range(5):
        groups.join(n, n + 1)
    assert groups.together(0, 5) and not groups.together(0, 6)
    groups.join(6, 3)
    assert groups.together(0, 6)


class _Resistance:
    def __init__(self, a, b, ohms=1e3):
        self.a, self.b, self.ohms = a, b, ohms


def test_what_hangs_on_a_supply_that_is_not_calculated_is_not_calculated_either_but_not_past_the_chassis():
    chain = [_Resistance(0, 1), _Resistance(1, 2), _Resistance(2, 9), _Resistance(9, 3), _Resistance(1, 4, 1e13)]
    spread = spread_unsupported([Unsupported("D1", frozenset({0}), frozenset(), "why")], chain, [], chassis=9)
    assert spread == {0: "why", 1: "why", 2: "why"}  # node 4 hangs on no more than a leak


@pytest.mark.parametrize(
    "how",
    [{"power": "standby"}, {"line": 0}, {"line": -1}, {"line": float("nan")}, {"supply_volts": 0}, {"lamp_watts": -60},
     {"reference_volts": 0}, {"hertz": 0}, {"tap_volts": 1e6}, {"line_spread": 0.5}, {"line_spread": -0.1},
     {"winding_rise": -1}, {"winding_rise": 151}, {"settings": (("RV1", 1.1),)}, {"settings": (("RV1", -0.1),)},
     {"lamp_watts": 60, "supply_volts": 115}],
)  # fmt: skip
def test_a_condition_that_no_bench_has_is_refused(how):
    with pytest.raises(ChecksError):
        Condition(**how)


@pytest.mark.parametrize("supply", [{"volts": "0 V"}, {"lamp": "0 W"}, {"volts": "60 W"}, {"lamp": "60 V"},
                                    {"watts": "60 W"}, {"volts": "115 V", "lamp": "60 W"}])  # fmt: skip
def test_a_stage_is_fed_by_volts_or_through_watts_of_a_lamp(supply):
    with pytest.raises(ChecksError):
        read_condition({"power": "on", "supply": supply})


def test_a_reduced_supply_counts_against_the_tap_in_use():
    """115 V into the 240 V tap of a 230 V kit: 0.479 of every winding's volts."""
    condition = read_condition({"power": "on", "supply": {"volts": "115 V"}}, {"volts": 230, "taps": [220, 240]})
    assert condition.tap_volts == 240 and condition.line_factor == pytest.approx(115 / 240)
    assert condition.at_line(1.1).line_factor == pytest.approx(1.1 * 115 / 240)
    assert read_condition({"power": "on"}, line=0.95).at_line(1.1).line_factor == pytest.approx(1.045)


def test_windings_are_warm_only_with_the_power_on():
    assert read_condition({"power": "on"}).winding_factor == pytest.approx(1.117)
    assert read_condition({"power": "off"}).winding_factor == read_condition({}).winding_factor == 1


def test_a_part_of_the_list_may_be_left_out_by_its_reference():
    condition = read_condition({"power": "on", "not_fitted": ["V1", "V2"], "settings": {"RV2": 1, "RV1": 0.25}})
    assert condition.not_fitted == {"V1", "V2"} and condition.settings == (("RV1", 0.25), ("RV2", 1.0))
    assert part_from_mapping(resistor("R1", "a", "b", "1k")).ref not in condition.not_fitted
