"""Resistors read with the power off are as good as exact: their spread has limits, and no valve's model is in it."""

import pytest

from checks.diagnosis import Observation, fault_list, prepare, rank
from tests.checks.diagnosis.test_faults import PARTS, STAGES

TOLERANCE, METER = 0.05, 0.012  # of the demo's resistors, and of a simple meter on ohms (common practice)


@pytest.fixture(scope="module")
def kit():
    faults = [f for f in fault_list(PARTS) if f.refs[:1] in (("R10",), ("R12",), ("C9",))]
    return prepare(PARTS, STAGES, samples=64, faults=faults)


def read(kit, place, share, repeated=True):
    value = share * float(kit.nominal[kit.index[place]])
    return Observation(place, value, METER * value / 3**0.5, repeated=repeated)


@pytest.mark.lengthy
@pytest.mark.parametrize("place", ["cold/k", "cold/g"])
@pytest.mark.parametrize("way", [-1, 1])
def test_a_resistor_at_well_beyond_twice_its_tolerance_that_was_read_twice_is_not_clear(kit, place, way):
    assert rank(kit, [read(kit, place, 1 + way * 2.7 * TOLERANCE)]).clear < 0.35


@pytest.mark.lengthy
@pytest.mark.parametrize("place", ["cold/k", "cold/g"])
@pytest.mark.parametrize("way", [-1, 1])
def test_a_resistor_at_its_limit_read_by_a_meter_at_its_own_is_clear(kit, place, way):
    assert rank(kit, [read(kit, place, 1 + way * (TOLERANCE + METER))]).clear > 0.5
