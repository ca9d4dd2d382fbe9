"""Stop limits from the ratings of the parts at the probes."""

import math

import pytest

from checks.circuit import Probe, stop_limits_from_ratings
from checks.circuit.ratings.stop_limits import LimitOf
from tests.checks.circuit import kits
from tests.checks.circuit.kits import capacitor, parts_of, resistor

HEATER = {"pins": {"anode": "7", "screen": "9", "grid": "2", "cathode": "3", "heater": ["4", "5"]}}


def kit(**valve):
    power = kits.pentode("V2", "ht", "ht.s", "g", "k", "EL84", **(HEATER | valve))
    power["joins"] |= {"heater": ["h.a", "h.b"]}
    return parts_of(
        capacitor("C1", "ht", "chassis", "47u", "400 V"),
        capacitor("C2", "ht.s", "chassis", "47u", "450 V"),
        capacitor("C3", "chassis", "bias", "47u", "63 V"),
        {"ref": "C4", "kind": "capacitor", "value": "100n", "volts": "630 V", "joins": ["ht", "g"]},
        resistor("R10", "k", "chassis", "180R", power="3W"),
        resistor("R11", "g", "chassis", "470k"),
        power,
    )


def limits(red, black="chassis", measure="dc volts", parts=None):
    result = stop_limits_from_ratings(parts or kit(), Probe(red, black, measure))
    return [(side.value, side.ref, side.of) if side else None for side in (result.above, result.below)]


def test_a_supply_stops_at_the_lowest_of_its_capacitors_and_its_valves_limits():
    own = kit(limits={"anode_volts": 300, "screen_volts": 500})
    assert limits("ht", parts=own)[0] == (300, "V2", LimitOf.ANODE_VOLTS)
    assert limits("ht.s", parts=own)[0] == (450, "C2", LimitOf.CAPACITOR_VOLTS)
    generous = kit(limits={"anode_volts": 800, "screen_volts": 500})
    assert limits("ht", parts=generous)[0] == (400, "C1", LimitOf.CAPACITOR_VOLTS)


def test_a_negative_supply_stops_below_the_rating_of_its_capacitor_and_not_above_zero():
    assert limits("bias") == [None, (-63, "C3", LimitOf.CAPACITOR_VOLTS)]


def test_an_electrolytic_says_nothing_of_reverse_volts_but_a_film_capacitor_bounds_both_ways():
    above, below = limits("ht", "g")
    assert above == (630, "C4", LimitOf.CAPACITOR_VOLTS) and below == (-630, "C4", LimitOf.CAPACITOR_VOLTS)


def test_a_cathode_stops_where_its_resistor_or_its_valve_has_enough():
    """sqrt(3 W x 180 Ω) = 23.2 V; 65 mA (EL84) through 180 Ω = 11.7 V."""
    assert limits("k", parts=kit(limits={"cathode_milliamps": 65}))[0] == pytest.approx(
        (11.7, "V2", LimitOf.CATHODE_CURRENT)
    )
    strong = kit(limits={"cathode_milliamps": 500})
    assert limits("k", parts=strong)[0] == pytest.approx((math.sqrt(540), "R10", LimitOf.DISSIPATION))


def test_a_current_over_a_resistor_stops_at_the_same_rating_in_amperes():
    (value, ref, of), _ = limits("k", measure="current", parts=kit(limits={"cathode_milliamps": 65}))
    assert (ref, of) == ("V2", LimitOf.CATHODE_CURRENT) and value == pytest.approx(0.065)


def test_a_pin_is_its_node():
    assert limits("V2.3") == limits("k")


def test_a_heater_stops_a_quarter_above_its_rating():
    assert limits("h.a", "h.b", "ac volts")[0] == pytest.approx((7.875, "V2", LimitOf.HEATER_VOLTS))
    assert limits("ht", measure="ac volts") == [None, None]


def test_a_winding_stops_where_the_wrong_tap_begins_and_a_load_where_it_burns():
    """6.3 V and 1.4 times that is 8.8 V, below the 12.6 V of a primary wired for half the mains; 8 Ω, 5 W bears
    sqrt(5 W x 8 Ω) = 6.3 V rms."""
    rows = parts_of(
        {
            "ref": "T1",
            "kind": "mains transformer",
            "winding": [
                {"name": "primary", "joins": ["p.1", "p.2"], "volts": "230 V", "ohms": "30"},
                {"name": "heater", "joins": ["h.a", "h.b"], "volts": "6.3 V", "ohms": "0.1"},
                {"name": "ht", "joins": ["s.1", "chassis", "s.2"], "volts": "250 V", "ohms": "100"},
            ],
        },
        resistor("RL", "out", "chassis", "8", power="5W"),
    )
    assert limits("h.a", "h.b", "ac volts", rows)[0] == pytest.approx((8.82, "T1", LimitOf.WINDING_VOLTS))
    assert limits("s.1", "s.2", "ac volts", rows)[0][0] == pytest.approx(700)
    assert limits("s.1", "chassis", "ac volts", rows)[0][0] == pytest.approx(350)
    (load, none) = limits("out", "chassis", "ac volts", rows)
    assert (load[0], load[2], none) == (pytest.approx(6.32, abs=0.01), LimitOf.DISSIPATION, None)


@pytest.mark.parametrize("measure", ["resistance", "continuity", "isolation"])
def test_readings_without_power_have_no_stop_from_ratings(measure):
    assert limits("ht", measure=measure) == [None, None]


def test_what_states_no_rating_sets_no_limit():
    rows = parts_of(
        resistor("R1", "x", "chassis", "1k"),
        {"ref": "C9", "kind": "capacitor", "value": "1u", "joins": ["x", "chassis"]},
    )
    assert limits("x", parts=rows) == [None, None]


@pytest.mark.parametrize(
    ("type_", "milliamps"),
    [("6V6", 2.5e3 * 16.2 / 350), ("6L6GC", 2.5e3 * 35 / 500), ("2A3", 2.5e3 * 15 / 300), ("EL84", 65.0)],
)
def test_a_valve_whose_sheet_limits_no_current_stops_at_its_watts_and_not_where_its_resistor_burns(type_, milliamps):
    """14 W + 2.2 W at 350 V, 30 W + 5 W at 500 V, 15 W at 300 V (sheets, from memory): the 316 mA that 10 ohm of 1 W
    stand are ten times what a 6V6 runs at."""
    screen = {} if type_ == "2A3" else {"screen": "s"}
    joins = {"anode": "a", "grid": "g", "cathode": "k", **screen}
    valve = {"ref": "V2", "kind": "pentode" if screen else "triode", "type": type_, "base": "octal", "joins": joins}
    parts = parts_of(valve, resistor("R7", "k", "chassis", "10", power="1 W"))
    limit = stop_limits_from_ratings(parts, Probe("k", "chassis", "dc volts")).above
    assert (limit.ref, limit.value) == ("V2", pytest.approx(milliamps / 100))
    amps = stop_limits_from_ratings(parts, Probe("k", "chassis", "current")).above
    assert amps.value == pytest.approx(milliamps / 1000)
