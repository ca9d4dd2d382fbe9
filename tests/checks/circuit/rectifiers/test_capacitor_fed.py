"""Doublers and bias supplies through a capacitor: against a simulation in time written apart, and closed forms.

The limits are common practice: an unloaded doubler gives twice the peak, a small capacitor passes I = fC (2E - V).
"""

import math

import numpy as np
import pytest

from checks.circuit import Condition, component_stresses, predict, predict_scatter
from checks.circuit.rectifiers.capacitor_fed import BiasFed, Doubler, bias_curve
from checks.circuit.rectifiers.conduction import Law
from checks.circuit.validation.problems import circuit_errors
from tests.checks.circuit.kits import capacitor, diode, parts_of, resistor, transformer
from tests.checks.circuit.rectifiers.helpers import lone
from tests.checks.circuit.timed import Timed
from tests.slow import slow

PEAK = 100 * math.sqrt(2)


def winding(ohms="20R"):
    return transformer(("ht", "100 V", ohms, ("w", "chassis")))


def film(ref, a, b, value):
    return {"ref": ref, "kind": "capacitor", "value": value, "volts": "630 V", "joins": [a, b]}


def doubler(farads="100u", load="5k", negative=False):
    way = (lambda a, b: (b, a)) if negative else (lambda a, b: (a, b))
    return [
        winding(),
        film("C1", "w", "x", farads),
        diode("D1", *way("chassis", "x")),
        diode("D2", *way("x", "p")),
        capacitor("C2", *way("p", "chassis"), "100u"),
        resistor("R1", "p", "chassis", load, power="20W"),
    ]


def bias(farads="100n", ohms="100k", load="100k"):
    return [
        winding(),
        film("C1", "w", "x", farads),
        resistor("R2", "x", "chassis", ohms),
        diode("D1", "n", "x"),
        capacitor("C2", "chassis", "n", "22u"),
        resistor("R1", "n", "chassis", load),
    ]


def volts(rows, node, hertz=50.0):
    parts = parts_of(*rows)
    assert not circuit_errors(parts)
    (reading,) = predict(parts, Condition(hertz=hertz), [(node, "chassis", "dc volts")])
    assert reading.value is not None, reading.reason
    return reading.value


@pytest.mark.lengthy
@pytest.mark.parametrize(
    ("farads", "load", "tolerance"),
    [
        ("470u", "5k", 0.01),
        ("100n", "100k", 0.03),
        *slow(("100u", "2k", 0.02), ("10u", "5k", 0.03), ("1u", "20k", 0.03)),
    ],
)
def test_a_doubler_gives_what_it_does_in_time(farads, load, tolerance):
    read_volts = volts(doubler(farads, load), "p")
    c, r = float(farads[:-1]) * {"u": 1e-6, "n": 1e-9}[farads[-1]], float(load[:-1]) * 1e3
    timed = Timed(
        [("p", "0", r)],
        [("w", "x", c), ("p", "0", 100e-6)],
        (),
        [("w", "0", PEAK, 20.0, 0.0)],
        [("0", "x", None), ("x", "p", None)],
    ).means(cycles=60, p=read_volts, x=read_volts / 2)
    assert read_volts == pytest.approx(timed["p"], rel=tolerance)


@pytest.mark.lengthy
def test_a_doubler_without_load_gives_twice_the_peak_less_two_drops():
    assert volts(doubler("100u", "10M"), "p") == pytest.approx(2 * PEAK - 1.4, rel=5e-3)


@pytest.mark.lengthy
def test_a_small_capacitor_passes_its_charge_each_cycle():
    """V/R = fC (2E - 2 x 0.7 V - V), in closed form."""
    flow = 50 * 100e-9
    expected = flow * (2 * PEAK - 1.4) / (1e-5 + flow)
    assert volts(doubler("100n", "100k"), "p") == pytest.approx(expected, rel=1e-2)


@pytest.mark.lengthy
def test_a_negative_doubler_mirrors_a_positive_one():
    assert volts(doubler(negative=True), "p") == pytest.approx(-volts(doubler(), "p"), rel=1e-6)


@pytest.mark.lengthy
@pytest.mark.parametrize(
    ("farads", "ohms", "load"),
    [("100n", "100k", "100k"), *slow(("47n", "220k", "47k"), ("22n", "100k", "220k"), ("220n", "56k", "33k"))],
)
def test_a_bias_supply_gives_what_it_does_in_time(farads, ohms, load):
    read_volts = volts(bias(farads, ohms, load), "n")
    c, back, r = (float(x[:-1]) * scale for x, scale in ((farads, 1e-9), (ohms, 1e3), (load, 1e3)))
    timed = Timed(
        [("n", "0", r), ("x", "0", back)],
        [("w", "x", c), ("n", "0", 4.7e-6)],
        (),
        [("w", "0", PEAK, 20.0, 0.0)],
        [("n", "x", None)],
        steps=600,
    ).means(cycles=80, n=read_volts)
    assert read_volts < 0 and read_volts == pytest.approx(timed["n"], rel=0.02)


@pytest.mark.lengthy
def test_the_point_behind_the_capacitor_carries_the_mean_current():
    rows = bias()
    parts = parts_of(*rows)
    inside, out = predict(parts, Condition(), [("x", "chassis", "dc volts"), ("n", "chassis", "dc volts")])
    assert inside.value == pytest.approx(-out.value, rel=1e-3)  # 100 kilohm carries what 100 kilohm draws


@pytest.mark.lengthy
def test_the_middle_of_a_doubler_is_refused_by_name():
    (reading,) = predict(parts_of(*doubler()), Condition(), [("x", "chassis", "dc volts")])
    assert reading.value is None and reading.reason.code == "behind-capacitor"


def test_good_builds_scatter_by_their_winding_and_their_return():
    (spread,) = predict_scatter(parts_of(*bias()), Condition(), [("n", "chassis", "dc volts")], samples=300)
    assert spread.low < spread.nominal < spread.high
    assert {d.ref for d in spread.drivers} <= {"T1", "R1", "R2"}


@pytest.mark.lengthy
def test_a_doubler_s_diodes_see_twice_the_peak():
    rows = doubler()
    for row in rows[2:4]:
        row["volts"] = "250 V"
    stresses = component_stresses(parts_of(*rows), Condition(), samples=100)
    reverse = [s for s in stresses if s.what == "reverse voltage" and s.at == "nominal" and s.ref in ("D1", "D2")]
    assert len(reverse) == 2 and all(s.over and s.value == pytest.approx(2 * PEAK, rel=0.01) for s in reverse)


@pytest.mark.parametrize("kind", [Doubler, BiasFed])
def test_slopes_are_the_derivatives_of_the_currents(kind):
    device = lone(kind)
    m, drive = np.ones((5, 2)), np.ones((5, 1))
    v = np.linspace(20, 120, 5) if kind is BiasFed else np.linspace(40, 250, 5)
    up, down = device.one(v + 0.01, m, drive)[0], device.one(v - 0.01, m, drive)[0]
    assert device.one(v, m, drive)[1] == pytest.approx((up - down) / 0.02, rel=0.05, abs=1e-9)


def test_a_curve_ends_where_the_capacitor_and_resistor_leave_too_little():
    knots, amps = bias_curve(2.0)
    assert knots[-1] == pytest.approx(2 / math.sqrt(5)) and amps[-1] == 0 and (np.diff(amps) <= 1e-9).all()
    assert Law().drop == 0.7


@pytest.mark.lengthy
@pytest.mark.parametrize("lost", ["C1", "C2"])
def test_what_is_left_of_a_full_wave_doubler_is_given_no_figure(lost):
    """With one capacitor open its pulses go on through the other into the filter's: 15 % above what one reservoir
    behind all of it would give, by a simulation in time."""
    rows = [
        transformer(("ht", "100 V", "20R", ("a", "b"))),
        *(diode("D1", "a", "p"), capacitor("C1", "p", "b", "100u")),
        *(diode("D2", "chassis", "a"), capacitor("C2", "b", "chassis", "100u")),
        *(resistor("R3", "p", "q", "1k"), capacitor("C3", "q", "chassis", "47u")),
        resistor("R1", "q", "chassis", "10k", power="20W"),
    ]
    points = [(node, "chassis", "dc volts") for node in ("p", "q")]
    whole = predict(parts_of(*rows), Condition(), points)
    left = predict(parts_of(*rows), Condition(not_fitted=frozenset({lost})), points)
    assert whole[0].value == pytest.approx(2 * PEAK - 1.4, rel=0.07) and whole[1].value < whole[0].value
    assert all(reading.value is None and reading.reason for reading in left)


def on_a_tap(*main):
    """A bias supply from the tap of a winding that B+ loads: 80 Ω of it carry the current of both."""
    tapped = transformer(
        ("upper", "50 V", "20R", ("a", "w")), ("lower", "200 V", "80R", ("w", "chassis")), primary="0.01R"
    )
    return [tapped, *bias()[1:], *main]


def main_supply(anode, cathode):
    """B+ at p, or the same below chassis where the diode stands the other way round."""
    ends = ("p", "chassis") if cathode == "p" else ("chassis", "p")
    return [
        diode("D9", anode, cathode),
        capacitor("C9", *ends, "220u"),
        resistor("R9", "p", "chassis", "5k", power="50W"),
    ]


@pytest.mark.lengthy
def test_the_b_plus_pulses_of_a_winding_lower_a_bias_taken_from_it():
    """The capacitor passes no direct current: the tops the diode takes stand R times the mean current less from the
    winding's mean. 80 Ω and 301 V / 5 kΩ are 4.8 V of the tap's 283 V (no regulation is stated)."""
    alone, loaded = volts(on_a_tap(), "n"), volts(on_a_tap(*main_supply("a", "p")), "n")
    assert loaded / alone == pytest.approx(1 - 80 * 301 / 5e3 / (200 * math.sqrt(2)), rel=1e-3)


@pytest.mark.slow
def test_the_same_in_time():
    read_volts = volts(on_a_tap(*main_supply("a", "p")), "n")
    root = math.sqrt(2)
    timed = Timed(
        [("n", "0", 1e5), ("x", "0", 1e5), ("p", "0", 5e3)],
        [("w", "x", 1e-7), ("n", "0", 4.7e-6), ("p", "0", 220e-6)],
        (),
        [("a", "w", 50 * root, 20.0, 0.0), ("w", "0", 200 * root, 80.0, 0.0)],
        [("n", "x", None), ("a", "p", None)],
        steps=300,
    ).means(cycles=60, n=read_volts, p=301.0)
    assert read_volts == pytest.approx(timed["n"], rel=0.012)


def test_a_bias_whose_own_tops_another_supply_flattens_is_given_no_figure():
    """By the simulation above the mean current's share would leave it 6 % too high."""
    (reading,) = predict(parts_of(*on_a_tap(*main_supply("p", "a"))), Condition(), [("n", "chassis", "dc volts")])
    assert reading.value is None and reading.reason


def test_a_full_wave_supply_over_both_halves_leaves_the_bias_its_figure():
    """Each end's own half takes the tops that the bias diode there does not."""
    rows = [
        transformer(("ht", "400 V", "100R", ("w", "chassis", "b"))),
        *bias()[1:],
        *(diode("D8", "w", "p"), diode("D9", "b", "p")),
        *(capacitor("C9", "p", "chassis", "220u"), resistor("R9", "p", "chassis", "5k", power="50W")),
    ]
    assert volts(rows, "n") < 0
