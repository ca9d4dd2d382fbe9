"""Ripple of filters with a choke, against the series of the rectified wave and a supply stepped in time.

|cos φ| = 2/π + 4/3π cos 2φ - 4/15π cos 4φ + …; what a choke and a capacitor leave of it is a divider (F.
Langford-Smith, Radio Designer's Handbook, 4th ed. 1953, chapter 31, from memory).
"""

import math

import numpy as np
import pytest

from checks.circuit import Condition, Probe, Signal, predict
from checks.circuit.netlist.remark import RemarkCode
from tests.checks.circuit.kits import capacitor, diode, parts_of, resistor, transformer

PEAK, SOURCE, HERTZ = 250 * math.sqrt(2), 50.0, 50.0
HENRIES, CHOKE_OHMS, FARADS, LOAD = 8.0, 150.0, 20e-6, 2000.0
CHOKE = {"ref": "L1", "kind": "inductor", "value": "8H", "ohms": "150R", "joins": ["r", "p"]}
IRON = transformer(("ht", "250 V", "100R", ("a", "chassis", "b")))
HALVES = [diode("D1", "a", "r"), diode("D2", "b", "r")]
ACROSS = transformer(("ht", "250 V", "50R", ("a", "b")))
BRIDGE = {"ref": "D1", "kind": "bridge", "joins": {"ac1": "a", "ac2": "b", "plus": "r", "minus": "chassis"}}
VALVE = {
    "ref": "V1",
    "kind": "rectifier valve",
    "type": "5Y3",
    "base": "octal",
    "joins": {"anode_1": "a", "anode_2": "b", "cathode": "r"},
    "pins": {"anode_1": "4", "anode_2": "6", "cathode": "8"},
}


def filtered(*rows, load="2k"):
    return [*rows, CHOKE, capacitor("C1", "p", "chassis", "20u"), resistor("R1", "p", "chassis", load, power="50W")]


def ripple(rows, node):
    probe = Probe(node, "chassis", "ac volts", "", 0.0, 0.0, "ripple")
    return predict(parts_of(*rows), Condition(hertz=HERTZ, signal=Signal()), [probe])[0]


def left_of_the_wave(passing=SOURCE):
    """rms V behind the choke, by the first three harmonics of |cos φ|."""
    squares = 0.0
    for order in (2, 4, 6):
        s = 2j * math.pi * order * HERTZ
        behind = 1 / (1 / LOAD + s * FARADS)
        volts = 4 * PEAK / (math.pi * (order**2 - 1)) * behind / (behind + CHOKE_OHMS + passing + s * HENRIES)
        squares += abs(volts) ** 2 / 2
    return math.sqrt(squares)


@pytest.mark.parametrize("rows", [(IRON, *HALVES), (ACROSS, BRIDGE)])
def test_behind_a_choke_is_what_it_leaves_of_the_rectified_wave(rows):
    assert ripple(filtered(*rows), "p").value == pytest.approx(left_of_the_wave(), rel=2e-3)


def test_before_a_choke_is_the_rectified_wave_itself():
    """The mean square of |cos φ| is a half and its mean 2/π, which leaves 0.3078 of the peak."""
    assert ripple(filtered(IRON, *HALVES), "r").value == pytest.approx(0.3078 * PEAK, rel=5e-3)


def test_a_rectifier_valve_s_own_ohms_take_a_little_off():
    value = ripple(filtered(IRON, VALVE), "p").value
    assert 0.95 * left_of_the_wave() < value < left_of_the_wave()


def test_a_negative_supply_ripples_as_a_positive_one():
    turned = filtered(IRON, diode("D1", "r", "a"), diode("D2", "r", "b"))
    turned[-2] = capacitor("C1", "chassis", "p", "20u")
    assert ripple(turned, "p").value == pytest.approx(left_of_the_wave(), rel=2e-3)


def test_a_choke_that_runs_dry_gives_no_ripple_either():
    refused = ripple(filtered(IRON, *HALVES, load="50k"), "p")
    assert refused.value is None and refused.reason.code is RemarkCode.BELOW_CRITICAL


def stepped(farads):
    """(rms at the reservoir, rms behind the choke), stepped in time by Euler's rule."""
    step, each = 1 / HERTZ / 2000, []
    first, second, amps = 315.0, 293.0, 0.145
    for n in range(60 * 2000):
        source = PEAK * abs(math.sin(2 * math.pi * HERTZ * n * step)) - 0.7
        before = first + step * (max(0.0, source - first) / SOURCE - amps) / farads
        amps += step * (before - second - CHOKE_OHMS * amps) / HENRIES
        second += step * (amps - second / LOAD) / FARADS
        first = before
        each.append((first, second))
    return np.std(each[-4000:], axis=0)


@pytest.mark.lengthy
def test_a_reservoir_with_a_choke_behind_it_ripples_as_it_does_in_time():
    rows = [*filtered(IRON, *HALVES), capacitor("C0", "r", "chassis", "47u")]
    found = [ripple(rows, node).value for node in ("r", "p")]
    assert found == pytest.approx(stepped(47e-6), rel=0.02)
