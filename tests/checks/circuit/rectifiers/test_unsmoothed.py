"""Supplies whose reservoir is open: textbook means of a rectified sine, and a simulation in time (timed.py)."""

import math

import pytest
from scipy.optimize import brentq

from checks.circuit import Condition
from checks.circuit.assemble.network import build_network
from checks.circuit.signals.ripple import ripple_lines, ripple_volts
from checks.circuit.solver.operating_point import solve_reservoirs
from tests.checks.circuit.kits import capacitor, diode, parts_of, resistor, transformer
from tests.checks.circuit.timed import Timed

PEAK = 250 * math.sqrt(2)
CENTRE = ("ht", "250 V", "100R", ("a", "chassis", "b"))
HALVES = [diode("D1", "a", "r"), diode("D2", "b", "r")]
BRIDGE = {"ref": "D1", "kind": "bridge", "joins": {"ac1": "a", "ac2": "b", "plus": "r", "minus": "chassis"}}
VALVE = {
    "ref": "V1",
    "kind": "rectifier valve",
    "type": "5Y3",
    "joins": {"anode_1": "a", "anode_2": "b", "cathode": "r", "heater": ["h", "r"]},
}


def solved(*rows, missing=("C1",)):
    return solve_reservoirs(build_network(parts_of(*rows), Condition(not_fitted=frozenset(missing))))[1]


def volts(point, node="r"):
    return float(point.volts[0, point.net.node(node)])


def one_can(*rectifier, winding=CENTRE, load="5k"):
    return [
        transformer(winding),
        *rectifier,
        capacitor("C1", "r", "chassis"),
        resistor("R1", "r", "chassis", load, power="50W"),
    ]


@pytest.mark.lengthy
@pytest.mark.parametrize(
    ("rows", "mean"),
    [
        (one_can(*HALVES), 2 * PEAK / math.pi - 0.7),
        (one_can(HALVES[0]), PEAK / math.pi - 0.35),
        (one_can(BRIDGE, winding=("ht", "250 V", "50R", ("a", "b"))), 2 * PEAK / math.pi - 1.4),
    ],
)
def test_without_any_capacitor_the_mean_is_that_of_the_rectified_sine(rows, mean):
    """2E/π of both half waves, E/π of one, of which the winding's 50 ohms take their part."""
    assert volts(solved(*rows)) == pytest.approx(mean * 5000 / 5050.15, rel=3e-3)
    assert volts(solved(*rows, missing=())) > 1.4 * volts(solved(*rows))


def test_without_any_capacitor_its_ripple_is_the_sine_s_own():
    """4E/3π at twice the mains frequency and 4E/15π at four times, of the Fourier series of |sin|."""
    point = solved(*one_can(*HALVES, load="50k"))
    lines = ripple_lines(point, point.net.node("r"), point.net.size)
    peak = (PEAK - 0.7) * 50000 / 50050
    assert abs(lines[2][0]) == pytest.approx(4 * peak / (3 * math.pi), rel=0.01)
    assert abs(lines[4][0]) == pytest.approx(4 * peak / (15 * math.pi), rel=0.01)


def filtered(load_here, series, load_beyond, *rectifier):
    return [
        *one_can(*rectifier, load=load_here)[:-1],
        resistor("R1", "r", "chassis", load_here, power="50W"),
        resistor("R2", "r", "p", series, power="50W"),
        capacitor("C2", "p", "chassis", "20u"),
        resistor("R3", "p", "chassis", load_beyond, power="50W"),
    ]


def in_time(here, series, beyond, halves, farads=20e-6, steps=800):
    """(mean V at the diodes, mean V at the capacitor behind `series`, rms ripple V at the diodes) of a cycle that ends
    as it begins: diodes of 0.7 V behind 50 ohms, found by root finding and without the code under test."""
    dt, g = 0.02 / steps, 1 / series
    wave = [PEAK * math.cos(2 * math.pi * k / steps) for k in range(steps)]
    spare = [(abs(e) if halves == 2 else e) - 0.7 for e in wave]

    def cycle(v):
        rows = []
        for e in spare:
            at = v * g / (g + here)
            at = (e / 50 + v * g) / (1 / 50 + g + here) if e > at else at
            rows.append((at, v))
            v += dt / farads * ((at - v) * g - v / beyond)
        return v, rows

    _, rows = cycle(brentq(lambda v: cycle(v)[0] - v, 1.0, PEAK))
    at, held = (sum(row) / steps for row in zip(*rows, strict=True))
    return at, held, math.sqrt(sum((v - at) ** 2 for v, _ in rows) / steps)


@pytest.mark.lengthy
@pytest.mark.parametrize("halves", [2, 1])
@pytest.mark.parametrize(
    ("here", "series", "beyond"),
    [(4e3, 100.0, 50e3), (4e3, 1e3, 20e3), (6e3, 10e3, 30e3), (1e8, 4700.0, 10e3), (5e3, 33e3, 40e3), (2e3, 3e3, 90e3)],
)
def test_the_next_capacitor_holds_what_a_simulation_in_time_says(here, series, beyond, halves):
    point = solved(*filtered(*(f"{x:g}R" for x in (here, series, beyond)), *HALVES[:halves]))
    *means, ripple = in_time(1 / here, series, beyond, halves)
    assert [volts(point, "r"), volts(point, "p")] == pytest.approx(means, rel=0.01)
    assert ripple_volts(point, point.net.node("r"), point.net.size)[0] == pytest.approx(ripple, rel=0.05)


def test_a_valve_without_its_reservoir_agrees_with_a_simulation_in_time():
    """Law and simulation share the valve's law alone: I = K V^1.5."""
    point = solved(transformer(CENTRE, ("five", "5 V", "0.1R", ("h", "r"))), VALVE, *one_can(load="3k")[1:])
    k = point.net.rectifiers[0].law_of.perveance
    timed = Timed(
        resistors=[("r", "0", 3e3)],
        sources=[("a", "0", PEAK, 50.0, 0.0), ("b", "0", PEAK, 50.0, math.pi)],
        diodes=[("a", "r", k), ("b", "r", k)],
        steps=200,
    ).means(cycles=2, over=1)
    assert volts(point) == pytest.approx(timed["r"], rel=0.02)


def test_a_choke_beside_another_load_passes_the_mean_of_a_point_without_its_capacitor():
    choke = {"ref": "L1", "kind": "inductor", "value": "10H", "ohms": "150R", "joins": ["r", "p"]}
    rows = [
        *one_can(*HALVES, load="8k"),
        choke,
        capacitor("C2", "p", "chassis"),
        resistor("R3", "p", "chassis", "5k", power="50W"),
    ]
    load = 1 / (1 / 8000 + 1 / 5150)
    expected = (2 * PEAK / math.pi - 0.7) * load / (load + 50.15)
    assert volts(solved(*rows)) == pytest.approx(expected, rel=3e-3)


def doubler():
    """Half-wave: C1 lets the winding's current through, D1 charges it, D2 fills C2."""
    return [
        transformer(("ht", "250 V", "50R", ("a", "chassis"))),
        capacitor("C1", "n", "a", "47u"),
        diode("D1", "chassis", "n"),
        diode("D2", "n", "r"),
        capacitor("C2", "r", "chassis", "47u"),
        resistor("R1", "r", "chassis", "20k", power="50W"),
    ]


@pytest.mark.lengthy
def test_without_the_capacitor_that_feeds_it_a_doubler_gives_no_volts_but_is_never_said_to():
    """No current finds its way back to the winding: 0 V, or no figure."""
    whole, point = solved(*doubler(), missing=()), solved(*doubler(), missing=("C1",))
    assert volts(whole) > 500
    at = point.net.node("r")
    assert at in point.net.not_calculated or abs(volts(point)) < 0.1


@pytest.mark.parametrize("missing", ["C1", "C2"])
def test_a_full_wave_doubler_with_one_capacitor_open_is_refused(missing):
    rows = [
        transformer(("ht", "125 V", "50R", ("a", "m"))),
        diode("D1", "a", "r"),
        diode("D2", "chassis", "a"),
        capacitor("C1", "r", "m", "100u"),
        capacitor("C2", "m", "chassis", "100u"),
        resistor("R3", "r", "chassis", "10k", power="50W"),
    ]
    whole, point = solved(*rows, missing=()), solved(*rows, missing=(missing,))
    assert volts(whole) > 250 and whole.net.node("r") not in whole.net.not_calculated
    assert point.net.node("r") in point.net.not_calculated


def test_a_return_through_a_resistor_loses_its_reservoir_as_others_do():
    """Back bias: the centre tap's resistor carries the whole current, and the point behind the rectifier is that much
    nearer the chassis (Ohm's law)."""
    rows = one_can(*HALVES, winding=("ht", "250 V", "100R", ("a", "c", "b")))
    point = solved(*rows, resistor("R5", "c", "chassis", "200R", power="10W"))
    expected = (2 * PEAK / math.pi - 0.7) * 5000 / (5000 + 200 + 50.15)
    assert volts(point) == pytest.approx(expected, rel=5e-3)
    assert volts(point, "c") == pytest.approx(-expected * 200 / 5000, rel=5e-3)


def test_a_supply_whose_list_has_no_reservoir_is_still_refused():
    rows = [row for row in one_can(*HALVES) if row["ref"] != "C1"]
    net = build_network(parts_of(*rows), Condition())
    assert [u.why.code.value for u in net.unsupported] == ["no-reservoir"] * 2
