"""A single-ended stage whose screen hangs on a tap of the primary, against its own equations: two currents that follow
three voltages, and one core that their turns share. Koren's pentode is written out again here."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from checks.circuit.signals.large_signal import ClipsBy, find_clipping
from checks.circuit.signals.response import respond
from checks.circuit.valves.fitted import FITTED
from tests.checks.circuit.kits import pentode, resistor
from tests.checks.circuit.signals.circuits import film, operating, supply, volts

K = FITTED["EL84"]
PRIMARY, OHMS, LOAD, SECONDARY_OHMS = 5000.0, 200.0, 8.0, 0.4
TURNS = math.sqrt(LOAD / PRIMARY)
SEEN = (LOAD + SECONDARY_OHMS) / TURNS**2
NO_CAPACITANCES = {f"{pair}_picofarads": 0 for pair in ("grid_anode", "grid_cathode", "anode_cathode")}
TAPS = [0.2, 0.43]


def currents(va, vs, vg):
    e1 = vs / K["kp"] * np.logaddexp(0, K["kp"] * (1 / K["mu"] + vg / vs))
    anode = 2 * e1 ** K["ex"] / K["kg1"] * math.atan(va / K["kvb"])
    return anode, e1 ** K["ex"] / K["kg2"] * (e1 / vs) ** (K["exs"] - K["ex"]) * (2 * vs / (va + vs)) ** K["fall"]


def tapped(tap):
    rows = [
        ("lower", OHMS * tap, ["ht", "tap"], PRIMARY * tap**2),
        ("upper", OHMS * (1 - tap), ["tap", "a"], PRIMARY * (1 - tap) ** 2),
        ("secondary", SECONDARY_OHMS, ["out", "chassis"], LOAD),
    ]
    windings = [{"name": n, "ohms": f"{r}R", "joins": ends, "impedance": f"{z}R"} for n, r, ends, z in rows]
    return operating(
        [
            supply(260),
            pentode("V1", "a", "tap", "g", "k", limits=NO_CAPACITANCES),
            resistor("R1", "g", "chassis", "470k"),
            {"ref": "T2", "kind": "output transformer", "winding": windings},
            resistor("R3", "k", "chassis", "150R"),
            film("C1", "k", "chassis", "100000u"),
        ],
        load_at="out",
        load_ohms=LOAD,
    )


def standing(point):
    return tuple(volts(point, node) - volts(point, "k") for node in ("a", "tap")) + (-volts(point, "k"),)


def equations(tap, at):
    """(anode A, screen A, anode V, screen V) for 1 V at the grid."""
    moved = [
        [(np.array(currents(*(at + d))) - currents(*(at - d))) / 2e-3 for d in 1e-3 * np.eye(3)[n : n + 1]][0]
        for n in range(3)
    ]
    by_anode, by_screen, by_grid = moved
    lower = OHMS * tap
    left = [
        [1, 0, -by_anode[0], -by_screen[0]],
        [0, 1, -by_anode[1], -by_screen[1]],
        [SEEN + OHMS, SEEN * tap + lower, 1, 0],
        [SEEN * tap + lower, SEEN * tap**2 + lower, 0, 1],
    ]
    return np.linalg.solve(left, [by_grid[0], by_grid[1], 0, 0])


@pytest.mark.parametrize("tap", TAPS)
def test_a_tapped_primary_feeds_its_screen_back(tap):
    point = tapped(tap)
    anode, screen, _, _ = equations(tap, np.array(standing(point)))
    expected = TURNS * SEEN * (anode + tap * screen) * LOAD / (LOAD + SECONDARY_OHMS)
    assert abs(respond(point, "out", "chassis", [1000.0])[0]) == pytest.approx(expected, rel=1e-3)


def test_a_screen_that_falls_with_its_anode_clips_earlier():
    """Down the load line to the curve at zero grid volts, the screen moved by its tap: within a tenth, never above."""
    tap = 0.43
    point = tapped(tap)
    va, vs, vg = standing(point)
    rest = currents(va, vs, vg)

    def short(fall):
        now = currents(va - fall, vs - tap * fall, 0.0)
        return (now[0] - rest[0]) + tap * (now[1] - rest[1]) - fall / (SEEN + OHMS)

    to_the_knee = brentq(short, 1, va - 1) / abs(equations(tap, np.array([va, vs, vg]))[2]) / math.sqrt(2)
    clip = find_clipping(point)
    assert clip.by is ClipsBy.ANODE
    assert 0.9 * to_the_knee < clip.input_volts <= 1.01 * to_the_knee
