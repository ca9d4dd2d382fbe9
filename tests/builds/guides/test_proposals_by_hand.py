"""Which checks a designer of the trade would ask for, in which stage, and where they must stop: by hand, unsolved."""

import math

import pytest

from builds.guides.proposals.candidates import (
    Candidate,
    Kit,
    candidates_with_valves,
    candidates_without_valves,
    cold_candidates,
)
from builds.guides.proposals.proposal import Proposal
from builds.guides.proposals.propose import _key, _marked, _power_first, make_title
from builds.guides.proposals.rated_stop import rated_parts, rated_stop
from builds.guides.proposals.stages import complete_stages, is_whole, signal_stage
from builds.guides.proposals.unmodelled import earth_bond, is_open_supply, no_short
from checks.circuit.netlist.remark import RemarkCode, remark
from tests.checks.circuit import kits
from tests.checks.circuit.kits import capacitor, diode, parts_of, resistor

VALVES = [
    {"ref": "V1", "kind": "twin triode"},
    {"ref": "V2", "kind": "rectifier valve"},
    {"ref": "R1", "kind": "resistor"},
]


def stage(key, power="on", **more):
    return {"key": key, "power": power, **more}


def keys(stages, parts=VALVES):
    rows, places, added = complete_stages(stages, parts)
    return [row["key"] for row in rows], places, [row["key"] for row in added]


def test_a_guide_without_stages_gets_one_cold_one_without_valves_and_one_with_them_in_that_order():
    order, places, added = keys([])
    assert order == added == [places.cold, places.no_valves, places.full] and len(set(order)) == 3
    rows, _places, _added = complete_stages([], VALVES)
    assert [row.get("power", "off") for row in rows] == ["off", "on", "on"]
    assert all(row["gate"] for row in rows)  # nobody goes on before it is passed
    assert rows[1]["not_fitted"] == ["V1", "V2"] and "not_fitted" not in rows[2]


def test_every_live_stage_that_is_made_carries_its_cautions():
    rows, _places, _added = complete_stages([], VALVES)
    for row in rows[1:]:
        assert {"lethal-voltage", "one-hand", "discharge", "not-alone", "insulated-probes"} <= {*row["cautions"]}
    assert "hot-glass" in rows[2]["cautions"] and "discharge" in rows[0]["cautions"]
    assert {"lethal-voltage", "one-hand", "hot-glass"} <= {*signal_stage([], {})["cautions"]}


def test_a_kit_without_valves_needs_no_stage_without_them():
    order, places, _added = keys([], [VALVES[2]])
    assert order == [places.cold, places.full] and places.no_valves == places.full


def test_stages_that_are_there_are_used_and_not_changed():
    own = [stage("ohms", "off", gate=True), stage("bare", not_fitted=["V1", "V2"]), stage("all")]
    order, places, added = keys(own)
    assert order == ["ohms", "bare", "all"] and added == []
    assert (places.cold, places.no_valves, places.full) == ("ohms", "bare", "all")


def test_a_stage_with_only_its_rectifier_valve_in_counts_as_one_without_valves():
    """It gives the B+ that is to be read first."""
    order, places, added = keys([stage("ohms", "off"), stage("b-plus", not_fitted=["V1"]), stage("all")])
    assert places.no_valves == "b-plus" and added == []


def test_a_stage_on_a_reduced_supply_is_not_the_one_with_all_of_the_mains():
    lamp = stage("lamp", supply={"lamp": "60 W"})
    order, places, added = keys([stage("ohms", "off"), stage("bare", not_fitted=["V1", "V2"]), lamp])
    assert places.full not in ("lamp", "bare") and added == [places.full] and order[-1] == places.full
    assert not is_whole(lamp) and not is_whole(stage("x", "off")) and not is_whole(stage("x", not_fitted=["V1"]))
    assert is_whole(stage("x"))


def test_the_first_power_comes_before_any_stage_with_valves():
    order, places, added = keys([stage("ohms", "off"), stage("all")])
    assert order == ["ohms", places.no_valves, "all"] and added == [places.no_valves]


def test_resistances_belong_to_the_last_stage_before_power():
    order, places, _added = keys([stage("a", "off"), stage("b", "off"), stage("all"), stage("later", "off")])
    assert places.cold == "b"
    order, places, _added = keys([stage("a", "off", gate=True), stage("b", "off"), stage("all")])
    assert places.cold == "a"  # a gate, where there is one


def test_a_stage_of_that_key_is_not_taken_for_another():
    order, places, _added = keys([stage("with-valves", "off"), stage("first-power", "off")])
    assert len(set(order)) == len(order) == 4 and places.full == "with-valves-2"


def test_controls_are_set_in_the_stage_under_tone():
    assert signal_stage([], {"RV1": 1.0})["settings"] == {"RV1": 1.0}
    assert "settings" not in signal_stage([], {})


RV = {"anode": "7", "screen": "9", "grid": "2", "cathode": "3", "heater": ["4", "5"]}


def power_kit(**limits):
    """An EL84 on 300 V behind a choke, with cathode bias."""
    valve = kits.pentode("V1", "ht", "ht.s", "g", "k", "EL84", pins=RV, limits=limits)
    valve["joins"] |= {"heater": ["h.a", "h.b"]}
    return [capacitor("C1", "ht", "chassis", "47u", "400 V"), capacitor("C2", "ht.s", "chassis", "47u", "450 V"),
            resistor("R1", "k", "chassis", "180R", power="3W"), resistor("R2", "g", "chassis", "470k", power="0.5W"),
            capacitor("C3", "k", "chassis", "220u", "25 V"), resistor("R3", "ht", "ht.s", "1k", power="2W"),
            capacitor("C4", "chassis", "bias", "47u", "63 V"), valve]  # fmt: skip


SPECS = parts_of(*power_kit(anode_volts=800, screen_volts=500, cathode_milliamps=65, anode_watts=12))


def stop(red, low, high, measure="dc volts", specs=SPECS, unit="V", black="chassis", **how):
    return rated_stop(specs, Candidate("x", measure, red, black, **how), low, high, unit)


def test_a_rail_stops_at_the_rating_of_the_capacitor_on_it():
    found = stop("ht", 290, 320)
    assert (found.key, found.value, found.ref, found.is_past) == ("stop_above", 400, "C1", False)
    assert found.text == "400 V"


@pytest.mark.parametrize(("high", "is_past"), [(390, False), (393, True), (400, True), (420, True)])
def test_good_readings_that_come_up_to_a_rating_are_an_objection_to_it(high, is_past):
    """Within 2 % of 400 V."""
    assert stop("ht", 350, high).is_past == is_past


def test_a_negative_supply_stops_below():
    found = stop("bias", -45, -40)
    assert (found.key, found.value, found.ref) == ("stop_below", -63, "C4")


def test_a_cathode_stops_at_the_current_of_its_valve():
    """65 mA through 180 Ω: 11.7 V, before the resistor's √(3 W · 180 Ω) = 23.2 V and the capacitor's 25 V."""
    found = stop("k", 7, 9)
    assert (found.ref, found.value) == ("V1", pytest.approx(11.7))
    current = rated_stop(SPECS, Candidate("current", "current", "k", through="R1"), 0.04, 0.05, "A")
    assert (current.ref, current.value) == ("V1", pytest.approx(0.065))


def test_a_cathode_whose_valve_has_no_current_limit_stops_at_its_resistor_or_capacitor():
    bare = parts_of(*(row for row in power_kit() if row["ref"] != "V1"))
    assert stop("k", 7, 9, specs=bare).value == pytest.approx(math.sqrt(3 * 180), rel=5e-3)
    assert stop("k", 7, 9, specs=bare).ref == "R1"


@pytest.mark.parametrize(("low", "high", "value"), [(-0.1, 0.1, 10), (-1, 0, 10), (-4.9, -4.8, 10), (-12, -10, -5),
                                                    (-40, -30, -15)])  # fmt: skip
def test_a_grid_stops_at_ten_volts_or_where_half_of_its_bias_is_gone(low, high, value):
    """A leaking coupling capacitor lifts it; without its bias a power valve is destroyed within a minute."""
    found = stop("g", low, high, electrode="grid")
    assert (found.key, found.value, found.ref) == ("stop_above", pytest.approx(value), "")


def test_a_grid_that_stands_high_by_its_circuit_stops_as_any_point_does():
    found = stop("g", 80, 90, electrode="grid")
    assert (found.key, found.value) == ("stop_above", 400)


def test_a_point_that_nothing_is_rated_for_stops_where_the_supply_does():
    """At the least of its capacitors."""
    found = stop("a1", 150, 180)
    assert (found.key, found.value, found.ref) == ("stop_above", 400, "C1")
    assert stop("a1", 150, 180, specs=[s for s in SPECS if s.ref != "C1"]).ref == "C2"
    assert stop("a1", 10, 12, specs=[s for s in SPECS if s.ref == "R2"]) is None


def test_a_resistor_that_would_bear_more_than_the_supply_has_says_little():
    """470 kΩ of half a watt bears 485 V; the capacitors of the supply stand 400 V."""
    found = stop("g", 100, 120)
    assert (found.value, found.ref) == (400, "C1")
    assert stop("g", 100, 120, specs=[s for s in SPECS if s.ref == "R2"]).value == pytest.approx(484, abs=1)


def test_neither_a_cathode_capacitor_nor_one_of_the_bias_says_what_a_supply_stands():
    specs = [s for s in SPECS if s.ref not in ("C1", "C2")]
    found = stop("far", 100, 120, specs=specs)
    assert found is None


def test_a_stop_is_rounded_towards_zero_and_never_past_its_rating():
    odd = parts_of(resistor("R1", "k", "chassis", "180R", power="3W"))
    for low, high, sign in ((7, 9, 1), (-9, -7, -1)):
        found = stop("k", low, high, specs=odd)
        exact = math.sqrt(3 * 180)
        assert exact * 0.99 < sign * found.value <= exact
        assert found.key == ("stop_above" if sign > 0 else "stop_below")


def test_the_ratings_of_parts_that_are_not_fitted_do_not_hold_but_those_of_heaters_do():
    bare = {"not_fitted": ["V1"]}
    assert "V1" not in {s.ref for s in rated_parts(SPECS, bare, "dc volts")}
    assert "V1" in {s.ref for s in rated_parts(SPECS, bare, "ac volts")}
    assert len(rated_parts(SPECS, {}, "dc volts")) == len(SPECS)


def rows_of_kit():
    iron = {"ref": "T1", "kind": "mains transformer", "winding": [
        {"name": "primary", "joins": ["mains.live", "mains.neutral"]}, {"name": "ht", "joins": ["s.a", "chassis"]},
        {"name": "heater", "joins": ["h.a", "h.b"]}]}  # fmt: skip
    inlet = {"ref": "J1", "kind": "connector", "joins": {"live": "mains.live", "neutral": "mains.neutral",
                                                         "earth": "chassis"}}  # fmt: skip
    return [iron, inlet, diode("D1", "s.a", "ht"), *power_kit(),
            resistor("R8", "bias", "chassis", "47k"), diode("D2", "bias", "s.a")]  # fmt: skip


def at(candidates, what):
    return [(c.red, c.black) for c in candidates if c.what == what]


def test_before_power_the_earth_comes_first_then_supplies_then_pins_then_heaters():
    found = cold_candidates(Kit(rows_of_kit()))
    order = [c.what for c in found]
    assert order == sorted(order, key=["earth-bond", "rail-ohms", "pin-ohms", "heater-ohms"].index)
    assert at(found, "earth-bond") and {red for red, _b in at(found, "rail-ohms")} == {"ht", "bias"}
    assert {red for red, _b in at(found, "pin-ohms")} == {"V1.7", "V1.9", "V1.2", "V1.3"}
    assert at(found, "heater-ohms") == [("V1.4", "V1.5")]


def test_the_bond_of_the_earth_is_asked_for_only_where_the_inlet_has_one():
    rows = [row if row["ref"] != "J1" else row | {"joins": {"live": "mains.live", "neutral": "mains.neutral"}}
            for row in rows_of_kit()]  # fmt: skip
    assert at(cold_candidates(Kit(rows)), "earth-bond") == []


def test_no_candidate_is_a_point_of_the_mains():
    kit = Kit(rows_of_kit())
    for found in (cold_candidates(kit), candidates_without_valves(kit), candidates_with_valves(kit)):
        assert found and not any("mains" in end for c in found if c.what != "earth-bond" for end in (c.red, c.black))


def test_with_power_heaters_come_first_then_supplies_then_electrodes_then_currents():
    found = candidates_with_valves(Kit(rows_of_kit()))
    order = [c.what for c in found]
    assert order == sorted(order, key=["heater-volts", "rail-volts", "pin-volts", "current"].index)
    (current,) = [c for c in found if c.what == "current"]
    assert (current.red, current.through, current.measure) == ("V1.3", "R1", "current")
    assert {c.measure for c in found if c.what == "heater-volts"} == {"ac volts", "dc volts"}


def test_without_its_valves_a_socket_is_read_at_anode_and_screen_but_not_at_its_cathode():
    found = candidates_without_valves(Kit(rows_of_kit()))
    assert {red for red, _b in at(found, "pin-volts")} == {"V1.7", "V1.9"}


def test_a_grid_on_a_bias_supply_is_read_before_its_valve_is_in():
    rows = [row if row["ref"] != "R2" else row | {"joins": ["g", "bias"]} for row in rows_of_kit()]
    found = candidates_without_valves(Kit(rows))
    reds = [c.red for c in found if c.what == "pin-volts"]
    assert reds[0] == "V1.2"  # before the anode


def test_pins_at_the_chassis_are_not_asked_for():
    rows = [row if row["ref"] != "V1" else row | {"joins": row["joins"] | {"cathode": "chassis"}}
            for row in rows_of_kit()]  # fmt: skip
    found = candidates_with_valves(Kit(rows))
    assert "V1.3" not in {c.red for c in found} and not [c for c in found if c.what == "current"]


def test_a_double_heater_is_read_between_its_ends_and_its_centre():
    rows = [{"ref": "V1", "kind": "twin triode", "type": "ECC83", "pins": {"heater": ["4", "5"], "heater_centre": "9"},
             "joins": {"heater": ["h.a", "h.a"], "heater_centre": "h.b"}}]  # fmt: skip
    ((_row, one, other),) = Kit(rows).heaters()
    assert {one.pin, other.pin} == {"4", "9"}
    series = [rows[0] | {"joins": {"heater": ["h.a", "h.b"]}}]
    ((_row, one, other),) = Kit(series).heaters()
    assert {one.pin, other.pin} == {"4", "5"}
    assert list(Kit([rows[0] | {"joins": {"heater": ["h.a", "h.a"]}}]).heaters()) == []


@pytest.mark.parametrize(
    ("value", "words"),
    [(300, "B+ at ht"), (60, "B+ at ht"), (59, "Supply at ht"), (12, "Supply at ht"), (-45, "Negative supply at ht")],
)
def test_a_supply_is_named_for_what_it_is(value, words):
    assert make_title(Candidate("rail-volts", "dc volts", "ht", of="ht"), value) == words


def test_a_pin_is_named_with_its_electrode_and_a_key_is_never_given_twice():
    pin = Candidate("pin-volts", "dc volts", "V1.7", of="V1", electrode="anode")
    assert make_title(pin) == "V1 pin 7, anode"
    first = _key(pin, {}, set())
    assert _key(pin, {}, {first}) == f"{first}-2" and _key(pin, {}, {first, f"{first}-2"}) == f"{first}-3"
    heater = Candidate("heater-volts", "ac volts", "V1.4", "V1.5", "V1")
    assert _key(heater, {}, set()).startswith("heater") and _key(heater, {}, set()) != first


def made(red, measure="dc volts", value=1.0, key="", **more):
    return Proposal("full", {"key": key or red, "red": red, "measure": measure} | more, value, 0.0, 2.0, "V")


def test_the_current_of_a_power_valve_is_read_before_the_small_signal_stages():
    rows = [made("ht"), made("V1.1"), made("V1.3", "current", 0.002), made("V2.3", "current", 0.045)]
    assert [p.row["red"] for p in _power_first(rows)] == ["ht", "V2.3", "V1.1", "V1.3"]


def test_what_a_check_of_the_stage_measures_already_is_marked_and_what_another_stage_measures_is_not():
    there = {"key": "full", "check": [{"key": "x", "measure": "dc volts", "red": "ht"}]}
    marked = _marked([made("ht"), made("ht", "ac volts"), made("k"), made("ht", black="k")], [there])
    assert [p.is_there for p in marked] == [True, False, False, False]
    assert not _marked([made("ht")], [there | {"key": "bare"}])[0].is_there


def test_the_earth_bond_and_an_open_supply_need_no_figure_of_the_circuit():
    row = {"key": "e", "measure": "continuity", "red": "=plug", "expected": "model", "figure_from": "model"}
    bond = earth_bond("cold", row)
    assert bond.row["at_most"] == "0.5 Ω" and bond.high == 0.5 and "expected" not in bond.row and bond.note
    open_ = no_short("cold", row)
    assert open_.row["at_least"] == "10 kΩ" and open_.low == 10e3 and open_.high == math.inf and open_.note
    supply = Candidate("rail-ohms", "resistance", "ht")
    assert is_open_supply(supply, remark(RemarkCode.OPEN))
    assert not is_open_supply(supply, remark(RemarkCode.NO_DC_PATH)) and not is_open_supply(supply, None)
    assert not is_open_supply(Candidate("pin-ohms", "resistance", "V1.1"), remark(RemarkCode.OPEN))


def test_a_proposal_is_known_by_its_stage_and_key_and_says_its_stop():
    proposal = made("ht", stop_below="-63 V", note="Wait.")
    assert (proposal.name, proposal.stop, proposal.note) == ("full/ht", "-63 V", "Wait.")
    assert made("ht", stop_above="400 V", stop_below="x").stop == "400 V" and made("ht").stop == ""
