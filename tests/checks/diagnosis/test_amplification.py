"""Good valves differ in amplification, which decides the current of one that a fixed bias nearly cuts off."""

import numpy as np
import pytest

from checks.circuit import part_from_mapping
from checks.circuit.devices.valves import Triode
from checks.circuit.valves.types import find_koren
from checks.diagnosis.amplification import MOST, SPREAD, _current_spread
from checks.diagnosis.codes import FaultCode
from checks.diagnosis.listing import fault_list
from tests.checks.circuit.kits import demo_rows


def spread(anode, grid):
    valve = Triode("V1", "a", find_koren("6SN7", {}), 0, 1, 2, 0, 0)
    return _current_spread(valve, np.array([[anode, grid]]), np.ones((1, 1)), None)


@pytest.mark.parametrize(("anode", "grid"), [(250.0, -8.0), (250.0, -6.0), (150.0, -3.0)])
def test_a_currents_spread_follows_the_three_halves_law(anode, grid):
    """I is as (grid + anode / mu) to the power of 1.5 (Langmuir), mu 20 for the 6SN7 (its data sheet): from that the
    current's relative change is 1.5 (anode / mu) / (grid + anode / mu) that of mu."""
    left = anode / 20
    assert spread(anode, grid) == pytest.approx(SPREAD * 1.5 * left / (left + grid), rel=0.4)


def test_a_valve_near_cut_off_differs_more_and_never_without_end():
    assert spread(250, -4) < spread(250, -8) < spread(250, -11) <= MOST


def test_a_twin_valve_may_have_lost_its_own_heater_with_the_sockets_volts_there():
    parts = [part_from_mapping(row) for row in demo_rows()]
    twins = {part.ref for part in parts if part.kind == "twin triode"}
    dead = {f.refs[0]: f for f in fault_list(parts) if f.code is FaultCode.VALVE_DEAD and f.key == f"{f.refs[0]} dead"}
    assert twins and twins <= set(dead)
    for ref in twins:
        assert len(dead[ref].moves) == 2 and not dead[ref].dead_heaters
