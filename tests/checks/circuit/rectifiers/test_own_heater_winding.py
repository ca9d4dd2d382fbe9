"""Rectifier valves whose cathode is tied to their own heater winding: against a simulation in time."""

import math

import pytest

from checks.circuit import Condition, component_stresses, parts_list_warnings, predict, predict_scatter
from tests.checks.circuit import kits
from tests.checks.circuit.kits import capacitor, parts_of, resistor
from tests.checks.circuit.rectifiers.test_supplies import perveance, source, transformer
from tests.checks.circuit.timed import Timed

LOADS = {"5Y3": "4k", "GZ34": "2k5"}


def rectifier(type_, one, other, cathode):
    joins = {"cathode": cathode, "heater": ["f.a", "f.b"], "anode_1": one} | ({"anode_2": other} if other else {})
    return {"ref": "V1", "kind": "rectifier valve", "type": type_, "base": "octal", "joins": joins}


def kit(type_="5Y3", reservoir="f.a", ht=("a", "chassis", "b"), volts="300 V", centre=False):
    """A supply whose filament winding floats on B+; `centre` takes B+ from the filament winding's centre tap."""
    filament = ("f.a", "f.c", "f.b") if centre else ("f.a", "f.b")
    return [
        transformer(("ht", volts, "100R", ht), ("rect", "2.5 V" if centre else "5 V", "0.06R", filament)),
        rectifier(type_, "a", "b" if "b" in ht else None, "f.c" if centre else "f.a"),
        capacitor("C1", reservoir, "chassis", "33u", "600 V"),
        resistor("R1", reservoir, "n", "100R", power="5W"),
        capacitor("C2", "n", "chassis", "33u", "600 V"),
        resistor("R2", "n", "chassis", LOADS[type_]),
    ]


def in_time(type_="5Y3", reservoir="f.a", halves=(0.0, math.pi)):
    ht, filament = source(300, 50 if len(halves) == 2 else 100), source(5, 0.06)
    amps = {"5Y3": 2.0, "GZ34": 1.9}[type_]
    ends = ("a", "b")[: len(halves)]
    return Timed(
        [("f.a", "f.b", 5 / amps), (reservoir, "n", 100.0), ("n", "0", 1e3 * float(LOADS[type_].replace("k", ".")))],
        [(reservoir, "0", 33e-6), ("n", "0", 33e-6)],
        (),
        [*((end, "0", *ht, phase) for end, phase in zip(ends, halves, strict=True)), ("f.a", "f.b", *filament, 0.0)],
        [(end, "f.a", perveance(type_)) for end in ends],
    ).means(cycles=40, **{"f.a": 330.0, "f.b": 330.0, "n": 310.0})


@pytest.mark.lengthy
@pytest.mark.parametrize("type_", LOADS)
@pytest.mark.parametrize("reservoir", ["f.a", "f.b"])
def test_a_valve_that_feeds_its_reservoir_by_its_own_heater_winding_is_solved(type_, reservoir):
    """5Y3, whose heater is the cathode, and GZ34, whose cathode is joined to it: B+ at either end of the heater."""
    supply, behind = predict(
        parts_of(*kit(type_, reservoir)), Condition(), [(n, "chassis", "dc volts") for n in (reservoir, "n")]
    )
    timed = in_time(type_, reservoir)
    assert supply.value == pytest.approx(timed[reservoir], rel=5e-3)
    assert behind.value == pytest.approx(timed["n"], rel=5e-3)


@pytest.mark.lengthy
def test_a_half_wave_rectifier_on_its_own_heater_winding_is_solved():
    (supply,) = predict(parts_of(*kit(ht=("a", "chassis"))), Condition(), [("f.a", "chassis", "dc volts")])
    assert supply.value == pytest.approx(in_time(halves=(0.0,))["f.a"], rel=5e-3)


@pytest.mark.lengthy
def test_b_plus_may_be_taken_from_the_centre_of_the_heater_winding():
    (end,) = predict(parts_of(*kit()), Condition(), [("n", "chassis", "dc volts")])
    (centre,) = predict(parts_of(*kit(reservoir="f.c", centre=True)), Condition(), [("n", "chassis", "dc volts")])
    assert centre.value == pytest.approx(end.value, rel=2e-3)


@pytest.mark.lengthy
def test_the_heater_of_such_a_valve_reads_its_own_volts_and_both_its_ends_stand_at_b_plus():
    across, one, other = predict(
        parts_of(*kit()),
        Condition(),
        [("f.a", "f.b", "ac volts"), ("f.a", "chassis", "dc volts"), ("f.b", "chassis", "dc volts")],
    )
    assert across.value == pytest.approx(5.0, rel=0.05)
    assert other.value == pytest.approx(one.value, abs=0.1)


@pytest.mark.lengthy
def test_good_builds_of_such_a_supply_scatter_and_its_valve_is_judged():
    parts = parts_of(*kit())
    (spread,) = predict_scatter(parts, Condition(), [("f.a", "chassis", "dc volts")], samples=500)
    assert spread.low < spread.nominal < spread.high
    assert {"V1", "C1", "R1"} <= {s.ref for s in component_stresses(parts, Condition(), samples=100)}
    assert parts_list_warnings(parts) == []


@pytest.mark.lengthy
def test_two_valves_with_a_winding_each_share_one_reservoir():
    """Each on a filament of its own, one half of the winding each: what one valve gives beside a like heater load."""
    iron = transformer(
        ("ht", "300 V", "100R", ("a", "chassis", "b")),
        ("rect 1", "5 V", "0.06R", ("f.a", "f.b")),
        ("rect 2", "5 V", "0.06R", ("f.a", "g.b")),
    )
    second = rectifier("5Y3", "b", None, "f.a") | {"ref": "V2"}
    second["joins"] |= {"heater": ["f.a", "g.b"]}
    two = [iron, rectifier("5Y3", "a", None, "f.a"), second, *kit()[2:]]
    one = [iron, *kit()[1:], resistor("R3", "f.a", "g.b", "2R5")]
    both, single = (predict(parts_of(*r), Condition(), [("n", "chassis", "dc volts")])[0].value for r in (two, one))
    assert both == pytest.approx(single, rel=1e-4)


def test_a_heater_winding_tied_to_cathode_and_chassis_is_not_called_sound():
    """B+ through a filament winding to the chassis is a short circuit, not a supply."""
    rows = [
        r
        if r["ref"] != "T1"
        else transformer(("ht", "300 V", "100R", ("a", "chassis", "b")), ("rect", "5 V", "0.06R", ("f.a", "chassis")))
        for r in kit()
    ]
    rows[1] = rows[1] | {"joins": rows[1]["joins"] | {"heater": ["f.a", "chassis"]}}
    (reading,) = predict(parts_of(*rows), Condition(), [("f.a", "chassis", "dc volts")])
    assert reading.value is None


@pytest.mark.lengthy
def test_a_voltage_doublers_winding_is_no_passenger():
    rows = [
        kits.transformer(("ht", "100 V", "10R", ("w", "chassis")), regulation="8%", primary="20R"),
        capacitor("C2", "x", "w", "470u"),
        kits.diode("D2", "chassis", "x"),
        kits.diode("D1", "x", "p"),
        capacitor("C1", "p", "chassis", "470u"),
        resistor("R1", "p", "chassis", "5k"),
    ]
    (reading,) = predict(parts_of(*rows), Condition(), [("p", "chassis", "dc volts")])
    assert 2 * 100 * 2**0.5 * 0.95 < reading.value < 2 * 108 * 2**0.5  # twice the peak, less what 57 mA lose
