"""The stages that go by a name, each against the equations of its own equivalent circuit, within 0.1 %: the split-load
phase inverter, the shunt-regulated push-pull, the cascode, the long-tailed pair, and a passive tone network.

The forms follow from a valve as μ v_gk behind r_a (F. Langford-Smith, Radio Designer's Handbook, 4th ed. 1953, chapters
7 and 12, from memory) and are written out anew here; the tone network's nodal equations are solved by scipy.
"""

import math

import numpy as np
import pytest
from scipy.linalg import solve

from checks.circuit import Condition, Signal
from checks.circuit.prediction.signals import solve_signal_point
from checks.circuit.signals.response import frequency_response, respond
from tests.checks.circuit.kits import parts_of, resistor
from tests.checks.circuit.signals.circuits import film, operating, slopes, supply, triode

TYPE = "ECC82"  # biased by volts, so that its grids carry nothing
EXACT = 1e-3


def parallel(*ohms):
    return 1 / sum(1 / r for r in ohms)


def gain(point, node):
    return complex(respond(point, node, "chassis", [1000.0])[0])


def split_load(anode=22e3, cathode=22e3):
    return operating([
        supply(300), triode(type_=TYPE), resistor("R1", "ht", "g", "1M"), resistor("R2", "g", "chassis", "390k"),
        resistor("R3", "ht", "a", f"{anode:.0f}R"), resistor("R4", "k", "chassis", f"{cathode:.0f}R"),
    ])  # fmt: skip


@pytest.mark.parametrize(("anode", "cathode"), [(22e3, 22e3), (15e3, 22e3)])
def test_a_split_load_inverter_has_its_two_gains_and_its_two_impedances(anode, cathode):
    """Seen from outside its anode has nearly its whole load, its cathode little: each while the other is left alone."""
    point = split_load(anode, cathode)
    _gm, ra, mu = slopes(point, type_=TYPE)
    loop = ra + anode + (mu + 1) * cathode
    assert gain(point, "a") == pytest.approx(-mu * anode / loop, rel=EXACT)
    assert gain(point, "k") == pytest.approx(mu * cathode / loop, rel=EXACT)
    at_anode, at_cathode = (frequency_response(point, node).output_ohms for node in ("a", "k"))
    assert at_anode == pytest.approx(parallel(anode, ra + (mu + 1) * cathode), rel=EXACT)
    assert at_cathode == pytest.approx(parallel(cathode, (ra + anode) / (mu + 1)), rel=EXACT)


def test_equal_loads_of_a_split_load_inverter_give_equal_outputs_whatever_the_valve():
    point = split_load()
    assert gain(point, "a") == pytest.approx(-gain(point, "k"), rel=EXACT)


@pytest.mark.lengthy
def test_a_shunt_regulated_stage_takes_its_output_from_the_upper_cathode():
    above = 1000.0
    point = operating([
        supply(300), triode("V1", "a", "g", "k", TYPE), resistor("R1", "g", "chassis", "1M"),
        resistor("R2", "k", "chassis", "1k"), film("C1", "k", "chassis", "100000u"),
        triode("V2", "ht", "a", "out", TYPE), resistor("R3", "out", "a", f"{above:.0f}R"),
    ])  # fmt: skip
    _gm1, ra1, mu1 = slopes(point, "a", "g", "k", TYPE)
    _gm2, ra2, mu2 = slopes(point, "ht", "a", "out", TYPE)
    whole = ra1 + ra2 + (mu2 + 1) * above
    assert gain(point, "out") == pytest.approx(-mu1 * (ra2 + mu2 * above) / whole, rel=EXACT)
    assert gain(point, "a") == pytest.approx(-mu1 * (ra2 + (mu2 + 1) * above) / whole, rel=EXACT)
    output = frequency_response(point, "out").output_ohms
    assert output == pytest.approx(ra2 * (ra1 + above) / whole, rel=EXACT)


def test_a_cascode_hides_its_lower_valve_from_the_load():
    load = 47e3
    point = operating([
        supply(350), triode("V1", "m", "g", "k", TYPE), resistor("R1", "g", "chassis", "1M"),
        resistor("R2", "k", "chassis", "1k5"), film("C1", "k", "chassis", "100000u"),
        triode("V2", "a", "held", "m", TYPE), resistor("R3", "ht", "a", f"{load:.0f}R"),
        resistor("R4", "ht", "held", "470k"), resistor("R5", "held", "chassis", "220k"),
        film("C2", "held", "chassis", "1000u"),
    ])  # fmt: skip
    _gm1, ra1, mu1 = slopes(point, "m", "g", "k", TYPE)
    _gm2, ra2, mu2 = slopes(point, "a", "held", "m", TYPE)
    whole = ra2 + load + (mu2 + 1) * ra1
    assert gain(point, "a") == pytest.approx(-mu1 * (mu2 + 1) * load / whole, rel=EXACT)
    assert gain(point, "m") == pytest.approx(-mu1 * (ra2 + load) / whole, rel=EXACT)
    output = frequency_response(point, "a").output_ohms
    assert output == pytest.approx(parallel(load, ra2 + (mu2 + 1) * ra1), rel=EXACT)


@pytest.mark.parametrize(("left", "right", "tail"), [(82e3, 100e3, 22e3), (100e3, 100e3, 47e3)])
def test_a_long_tailed_pair_shares_the_signal_by_its_tail(left, right, tail):
    point = operating([
        supply(350), triode("V1", "a1", "g", "k", TYPE), triode("V2", "a2", "other", "k", TYPE),
        resistor("R1", "ht", "a1", f"{left:.0f}R"), resistor("R2", "ht", "a2", f"{right:.0f}R"),
        resistor("R3", "k", "chassis", f"{tail:.0f}R"), film("C1", "other", "chassis", "1000u"),
        resistor("R4", "ht", "g", "1M"), resistor("R5", "g", "chassis", "220k"),
        resistor("R6", "ht", "other", "1M"), resistor("R7", "other", "chassis", "220k"),
    ])  # fmt: skip
    _gm1, ra1, mu1 = slopes(point, "a1", "g", "k", TYPE)
    _gm2, ra2, mu2 = slopes(point, "a2", "other", "k", TYPE)
    into = [(ra1 + left) / (mu1 + 1), (ra2 + right) / (mu2 + 1)]  # ohms into each cathode
    cathode = mu1 / (mu1 + 1) / into[0] * parallel(*into, tail)
    currents = (mu1 / (mu1 + 1) - cathode) / into[0], -cathode / into[1]
    assert gain(point, "k") == pytest.approx(cathode, rel=EXACT)
    assert gain(point, "a1") == pytest.approx(-currents[0] * left, rel=EXACT)
    assert gain(point, "a2") == pytest.approx(-currents[1] * right, rel=EXACT)
    assert abs(gain(point, "a2")) < abs(gain(point, "a1")) or right > left


TREBLE, BASS, MIDDLE = 250e3, 1e6, 25e3
SLOPE, SMALL, LARGE, AFTER, SOURCE = 56e3, 250e-12, 22e-9, 1e6, 1300.0


def pot(ref, ohms, top, wiper, bottom):
    joins = {"top": top, "wiper": wiper, "bottom": bottom}
    return {"ref": ref, "kind": "potentiometer", "value": f"{ohms:.0f}R", "joins": joins}


def tone_network(treble, bass, middle):
    rows = [
        supply(9, "p"), resistor("R9", "p", "chassis", "1k"), resistor("R0", "in", "s", f"{SOURCE:.0f}R"),
        resistor("R8", "s", "chassis", "100k"), resistor("R1", "s", "n", f"{SLOPE:.0f}R"),
        film("C1", "s", "t", "250p"), film("C2", "n", "b", "22n"), film("C3", "n", "m", "22n"),
        pot("RV1", TREBLE, "t", "out", "b"), pot("RV2", BASS, "b", "b", "m"), pot("RV3", MIDDLE, "m", "chassis", "x"),
        resistor("R2", "x", "chassis", "10M"), resistor("R3", "out", "chassis", f"{AFTER:.0f}R"),
    ]  # fmt: skip
    settings = (("RV1", treble), ("RV2", bass), ("RV3", middle))
    return solve_signal_point(parts_of(*rows), Condition(settings=settings, signal=Signal("in")))


def solved_by_hand(hertz, treble, bass, middle):
    """Nodes s, n, t, out, b, m for 1 V behind SOURCE. Bass is a variable resistor from b to m: what lies below its
    wiper; middle one from m to the chassis: what lies above its own."""
    s = 2j * math.pi * hertz
    y = np.zeros((6, 6), complex)

    def join(a, b, siemens):
        for one, other in ((a, b), (b, a)):
            if one is not None:
                y[one, one] += siemens
                if other is not None:
                    y[one, other] -= siemens

    for a, b, siemens in (
        (0, None, 1 / SOURCE), (0, None, 1 / 100e3), (0, 1, 1 / SLOPE), (0, 2, s * SMALL),
        (1, 4, s * LARGE), (1, 5, s * LARGE), (2, 3, 1 / ((1 - treble) * TREBLE)),
        (3, 4, 1 / (treble * TREBLE)), (4, 5, 1 / (bass * BASS)), 
        (5, None, 1 / ((1 - middle) * MIDDLE)), (3, None, 1 / AFTER),
    ):  # fmt: skip
        join(a, b, siemens)
    return solve(y, np.array([1 / SOURCE, 0, 0, 0, 0, 0]))[3]


@pytest.mark.parametrize("turned", [(0.5, 0.5, 0.5), (0.9, 0.1, 0.3), (0.1, 0.9, 0.8), (0.3, 0.3, 0.05)])
def test_a_passive_tone_network_gives_what_its_nodal_equations_give(turned):
    point = tone_network(*turned)
    for hertz in (20.0, 80.0, 400.0, 1000.0, 5000.0, 20_000.0):
        found = complex(respond(point, "out", "chassis", [hertz])[0])
        assert found == pytest.approx(solved_by_hand(hertz, *turned), rel=EXACT)


def test_a_tone_network_turned_to_treble_rises_and_turned_to_bass_falls():
    """The scoop about some hundreds of hertz in the middle of all controls: common practice."""
    bright, dark = tone_network(0.95, 0.02, 0.5), tone_network(0.05, 0.95, 0.5)
    for point, rises in ((bright, True), (dark, False)):
        low, high = np.abs(respond(point, "out", "chassis", [80.0, 8000.0]))
        assert high > 2 * low if rises else low > 2 * high
    low, middle, high = np.abs(respond(tone_network(0.5, 0.5, 0.5), "out", "chassis", [60.0, 500.0, 8000.0]))
    assert middle < low and middle < high
