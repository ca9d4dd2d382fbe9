"""Grid-leak (contact) bias: a grid on 10 MΩ stands at -0.5 V to -1 V, and other grids where they stood."""

import numpy as np
import pytest

from checks.circuit import Condition, predict, predict_scatter
from checks.circuit.valves.koren import grid_current
from tests.checks.circuit import kits
from tests.checks.circuit.kits import bench_supply, parts_of, resistor


def stage(leak="10M", type_="ECC83", rk=None):
    cathode = "k" if rk else "chassis"
    return [
        *bench_supply(250),
        resistor("R9", "ht", "chassis", "100k"),
        resistor("R1", "ht", "a", "220k"),
        resistor("R2", "g", "chassis", leak),
        kits.triode("V1", "a", "g", cathode, type_),
        *([resistor("R3", "k", "chassis", rk)] if rk else []),
    ]


def grid(**stage_):
    return predict(parts_of(*stage(**stage_)), Condition(), [("g", "chassis", "dc volts")])[0].value


@pytest.mark.parametrize("leak", ["4M7", "10M", "22M"])
def test_a_grid_on_a_large_leak_biases_itself_by_half_a_volt_to_one(leak):
    """Common practice: contact bias of -0.5 V to -1 V."""
    assert -1.0 < grid(leak=leak) < -0.5


def test_a_large_leak_keeps_an_anode_off_the_chassis():
    """With the grid at 0 V this anode would stand far lower."""
    anode = predict(parts_of(*stage()), Condition(), [("a", "chassis", "dc volts")])[0].value
    assert 60 < anode < 180


def test_a_stage_with_cathode_bias_hardly_notices():
    assert grid(leak="1M", rk="1k5") == pytest.approx(0, abs=0.02)


@pytest.mark.lengthy
def test_contact_potentials_scatter_from_valve_to_valve():
    (spread,) = predict_scatter(parts_of(*stage()), Condition(), [("g", "chassis", "dc volts")], samples=2000)
    assert 0.25 < spread.high - spread.low < 0.6


@pytest.mark.parametrize("vg", [-3.0, -1.0, -0.3, 0.0, 0.4, 2.0])
def test_the_slope_is_that_of_the_current(vg):
    step = 1e-5
    high, low = (float(grid_current(np.float64(vg + s))[0]) for s in (step, -step))
    assert float(grid_current(np.float64(vg))[1]) == pytest.approx((high - low) / (2 * step), rel=1e-3)
