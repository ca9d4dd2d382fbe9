"""Circuits whose figures were once wrong without a word, each against equations of its own or a published figure."""

import math

import pytest

from checks.circuit import Condition, predict
from checks.errors import ChecksError
from tests.checks.circuit.kits import capacitor, parts_of, resistor, transformer


def supply(ref, volts, plus, minus="chassis"):
    joins = {"plus": plus, "minus": minus}
    return {"ref": ref, "kind": "dc supply", "value": f"{volts} V", "ohms": "0.01R", "joins": joins}


def volts(rows, *nodes):
    predicted = predict(parts_of(*rows), Condition(), [(node, "chassis", "dc volts") for node in nodes])
    return [one.value for one in predicted]


def op_amp(plus, minus, out):
    ends = {"plus_input": plus, "minus_input": minus, "output": out, "plus_supply": "p", "minus_supply": "n"}
    return [supply("B1", 12, "p"), supply("B2", 12, "chassis", "n"), {"ref": "U1", "kind": "op-amp", "joins": ends}]


def amplifier(plus, minus):
    """1 V in, 10 kΩ over 2 kΩ."""
    return [
        supply("B3", 1, "in"),
        *op_amp(plus, minus, "out"),
        resistor("R1", "out", "fb", "10k"),
        resistor("R2", "fb", "chassis", "2k"),
        resistor("R3", "out", "chassis", "1k"),
    ]


def test_an_op_amp_with_its_inputs_exchanged_is_refused_and_does_not_read_as_it_should():
    """It rests at one supply or the other; the gain's own equation has the 6 V of the right way round."""
    assert volts(amplifier("in", "fb"), "out") == pytest.approx([6.0], abs=0.01)
    with pytest.raises(ChecksError) as caught:
        volts(amplifier("fb", "in"), "out")
    assert caught.value.code == "positive-feedback" and "U1" in str(caught.value)


def test_two_op_amps_with_their_inputs_exchanged_do_not_hide_each_other():
    more = [row | {"ref": "U2"} for row in op_amp("m2", "in", "o2") if row["ref"] == "U1"]
    loop = [resistor("R4", "o2", "m2", "10k"), resistor("R5", "m2", "chassis", "2k")]
    with pytest.raises(ChecksError) as caught:
        volts([*amplifier("fb", "in"), *more, *loop], "out")
    assert caught.value.code == "positive-feedback"


def test_a_comparator_without_feedback_stands_at_its_supply():
    rows = [supply("B3", 1, "in"), *op_amp("in", "chassis", "out"), resistor("R3", "out", "chassis", "2k")]
    assert volts(rows, "out")[0] > 10


@pytest.mark.parametrize(("mains", "load"), [(300, "15k"), (250, "30k"), (280, "15k")])
def test_a_stabiliser_valve_holds_its_voltage_over_its_range(mains, load):
    """0A2: 150 V, within 2 V from 5 mA to 30 mA, strikes below 185 V (its sheet, from memory); behind 5 kΩ."""
    valve = {"ref": "V9", "kind": "neon", "value": "150 V", "model": {"strike": 180}, "joins": ["z", "chassis"]}
    rows = [supply("B1", mains, "ht"), resistor("R1", "ht", "z", "5k"), resistor("R2", "z", "chassis", load), valve]
    assert volts(rows, "z")[0] == pytest.approx(150, abs=4)


def test_a_silicon_diode_drops_what_its_sheet_prints():
    """1N4001: 0.93 V at 1 A, about 0.77 V at 0.1 A, 25 °C (typical curve, from memory)."""
    for ohms, drop in (("11R", 0.93), ("112R", 0.77), ("1k13", 0.67)):
        ends = {"anode": "in", "cathode": "out"}
        rows = [supply("B1", 12, "in"), {"ref": "D1", "kind": "diode", "joins": ends}]
        assert 12 - volts([*rows, resistor("R1", "out", "chassis", ohms)], "out")[0] == pytest.approx(drop, abs=0.05)


def in_time(rms, source, farads, load, steps=4000, cycles=40):
    """Mean volts of a bridge, by Euler steps: a 1N4001 each way, whose curve 0.81 V + 92 mV a decade + 50 mΩ passes
    0.93 V at 1 A (typical curve, from memory)."""
    v, dt, mean = 6.0, 0.02 / steps, 0.0

    def spare(amps, ahead):
        return ahead - 2 * (0.93 + 0.04 * math.log(max(amps, 1e-9)) + 0.05 * (amps - 1)) - source * amps

    for cycle in range(cycles):
        for step in range(steps):
            ahead = abs(rms * math.sqrt(2) * math.sin(2 * math.pi * step / steps)) - v
            low, high = 0.0, 20.0
            for _ in range(30 if ahead > 0.5 else 0):
                middle = (low + high) / 2
                low, high = (middle, high) if spare(middle, ahead) > 0 else (low, middle)
            v += (low - v / load) / farads * dt
            mean += v / steps if cycle == cycles - 1 else 0.0
    return mean


@pytest.mark.lengthy
def test_direct_heater_volts_take_off_what_a_bridge_drops_at_its_pulses():
    """A bridge's two diodes cost a sixth of 8.9 V: half a volt missed on 6.3 V is a heater burnt out."""
    rows = [
        transformer(("h", "6.3 V", "0.1R", ("a", "b"))),
        {"ref": "D1", "kind": "bridge", "joins": {"ac1": "a", "ac2": "b", "plus": "p", "minus": "chassis"}},
        capacitor("C1", "p", "chassis", "10000u"),
        resistor("R1", "p", "chassis", "12R"),
    ]
    assert volts(rows, "p")[0] == pytest.approx(in_time(6.3, 0.1, 0.01, 12.0, steps=400, cycles=25), rel=0.03)


def regulator(inward, out, kind="regulator"):
    joins = {"input": inward, "output": out, "common": "chassis"}
    return [{"ref": "U1", "kind": kind, "value": "12 V", "joins": joins}, resistor("R1", "o", "chassis", "1k")]


@pytest.mark.parametrize(("rows", "expected"), [([supply("B1", 24, "ht"), *regulator("o", "ht")], 23.3)])
def test_a_regulator_the_wrong_way_round_passes_nearly_all(rows, expected):
    """From its output to its input it conducts as a diode does (why its sheets ask for a diode across it)."""
    assert volts(rows, "o")[0] == pytest.approx(expected, abs=0.3)


def test_an_led_named_by_its_value_drops_what_its_colour_does_and_without_a_colour_is_refused():
    def lit(value):
        ends = {"anode": "a", "cathode": "chassis"}
        diode = {"ref": "D1", "kind": "diode", "value": value, "joins": ends}
        return volts([supply("B1", 5, "in"), resistor("R1", "in", "a", "330R"), diode], "a")[0]

    assert lit("LED, green 3 mm") == pytest.approx(2.1, abs=0.1)
    assert lit("1N4007") == pytest.approx(0.67, abs=0.05)
    with pytest.raises(ChecksError) as caught:
        lit("LED")
    assert caught.value.code == "led-drop"
