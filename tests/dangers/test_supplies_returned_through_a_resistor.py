"""A supply whose return passes a resistor (back bias, or one to measure its current) is calculated: whole kits had no
figures for it, and so no bands and no stop limits of their own.

Compared with simulations in time, written here from Kirchhoff's laws alone: diodes of 0.7 V and 0.15 Ω, a winding of
known ohms, explicit steps.
"""

import math

import pytest

from checks.circuit import Condition, predict
from tests.checks.circuit.kits import capacitor, diode, parts_of, resistor, transformer

DROP, DIODE_OHMS, HERTZ = 0.7, 0.15, 50.0
STEPS = 4000  # a cycle


def readings(rows, *nodes):
    found = predict(parts_of(*rows), Condition(), [(node, "chassis", "dc volts") for node in nodes])
    assert [f.reason for f in found] == [None] * len(nodes)
    return [f.value for f in found]


def back_bias(volts, winding, ohms, loads, farads):
    """(B+, centre, screen supply): the reservoir returns to the winding's centre, which has `ohms` to chassis."""
    rs, (series, first, second) = winding + DIODE_OHMS, loads
    v1, v2, dt, kept = 0.95 * volts * 2**0.5, 0.9 * volts * 2**0.5, 1 / HERTZ / STEPS, []
    for n in range(100 * STEPS):
        top = (v2 / series + v1 / ohms) / (1 / series + 1 / first + 1 / ohms)
        through = (top - v2) / series
        pulse = max(0.0, abs(volts * 2**0.5 * math.sin(2 * math.pi * n / STEPS)) - DROP - v1) / rs
        v1 += dt * (pulse - through - top / first) / farads
        v2 += dt * (through - v2 / second) / farads
        if n >= 99 * STEPS:
            kept.append((top, top - v1, v2))
    return [sum(column) / len(kept) for column in zip(*kept, strict=True)]


@pytest.mark.lengthy
@pytest.mark.parametrize("ohms", ["47", "150", "680"])
def test_back_bias_with_the_reservoir_at_the_windings_centre(ohms):
    rows = [
        transformer(("ht", "250 V", "200", ("ht.a", "centre", "ht.b"))),
        diode("D1", "ht.a", "top"),
        diode("D2", "ht.b", "top"),
        capacitor("C1", "top", "centre"),
        capacitor("C2", "screen", "chassis"),
        resistor("R1", "top", "screen", "1k"),
        resistor("R2", "top", "chassis", "4k"),
        resistor("R3", "screen", "chassis", "47k"),
        resistor("R4", "centre", "chassis", ohms),
        resistor("R5", "centre", "grid", "470k"),
        {"ref": "C3", "kind": "capacitor", "value": "22n", "volts": "400 V", "joins": ["grid", "chassis"]},
    ]
    expected = back_bias(250.0, 100.0, float(ohms), (1e3, 4e3, 47e3), 47e-6)
    assert readings(rows, "top", "centre", "screen") == pytest.approx(expected, rel=0.005)
    assert readings(rows, "grid") == pytest.approx([expected[1]], rel=0.005)


def doubled(volts, winding, ohms, load, farads):
    """(top, bottom) of two half-wave rectifiers, with `ohms` between the lower reservoir and the chassis."""
    rs, v1, v2, dt, kept = winding + DIODE_OHMS, 1.35 * volts, 1.35 * volts, 1 / HERTZ / STEPS, []
    for n in range(60 * STEPS):
        e, amps = volts * 2**0.5 * math.sin(2 * math.pi * n / STEPS), (v1 + v2) / (load + ohms)
        v1 += dt * (max(0.0, e - DROP - v1) / rs - amps) / farads
        v2 += dt * (max(0.0, -e - DROP - v2) / rs - amps) / farads
        if n >= 59 * STEPS:
            kept.append(amps)
    mean = sum(kept) / len(kept)
    return [mean * load, -mean * ohms]


@pytest.mark.lengthy
@pytest.mark.parametrize("ohms", ["1", "10", "100"])
def test_a_doubler_whose_current_is_measured_in_its_return(ohms):
    rows = [
        transformer(("ht", "130 V", "18", ("x.a", "x.b"))),
        diode("D1", "x.a", "top"),
        diode("D2", "bottom", "x.a"),
        capacitor("C1", "top", "x.b", "150u"),
        capacitor("C2", "x.b", "bottom", "150u"),
        resistor("R1", "bottom", "chassis", ohms),
        resistor("R2", "top", "chassis", "8k"),
        resistor("R3", "top", "gate", "100k"),
        {
            "ref": "Z1",
            "kind": "zener",
            "value": "100 V",
            "power": "1 W",
            "joins": {"anode": "chassis", "cathode": "gate"},
        },
    ]
    top, bottom, gate = readings(rows, "top", "bottom", "gate")
    drawn = (top - gate) / 100e3
    load = top / (top / 8e3 + drawn)  # what the Zener diode draws, as the site has it, counts as so much resistance
    assert [top, bottom] == pytest.approx(doubled(130.0, 18.0, float(ohms), load, 150e-6), rel=0.006)
    assert gate == pytest.approx(100.0, rel=0.02)
