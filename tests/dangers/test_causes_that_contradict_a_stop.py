"""What may be wrong, said while the page says switch off: no cause is named that would make the point read the other
way. A half dry joint before the transformer lowers a heater's volts; it never explains ten times as many."""

import pytest

from checks.circuit import part_from_mapping
from checks.diagnosis import Observation, prepare, rank
from tests.checks.circuit.kits import resistor, transformer

FUSE = {"ref": "F1", "kind": "fuse", "value": "1 A", "ohms": "0.2R", "joins": ["mains.inlet", "mains.fused"]}
SWITCH = {"ref": "S1", "kind": "switch", "open_when_off": True, "joins": ["mains.fused", "mains.live"]}
IRON = transformer(("heater", "6.3 V", "0.15R", ("h.a", "h.b")))
PARTS = [FUSE, SWITCH, IRON, resistor("R1", "h.a", "chassis", "100"), resistor("R2", "h.b", "chassis", "100")]
STAGES = [
    {
        "key": "first",
        "power": "on",
        "not_fitted": [],
        "checks": [{"key": "heater", "measure": "ac volts", "red": "h.a", "black": "h.b", "through": ""}],
    }
]


@pytest.fixture(scope="module")
def prepared():
    return prepare([part_from_mapping(row) for row in PARTS], STAGES, samples=24)


@pytest.mark.parametrize("times", [3, 10, 40])
def test_a_heater_at_many_times_its_volts_is_laid_to_no_joint_that_would_lower_them(prepared, times):
    good = float(prepared.nominal[prepared.index["first/heater"]])
    past = Observation("first/heater", times * good, 0.01 * times * good, past_stop=True, line_known=True)
    ranking = rank(prepared, [past]).given_a_fault()
    place = prepared.index["first/heater"]
    row = {fault.key: n for n, fault in enumerate(prepared.faults, 1)}
    named = [group.faults[0] for group in ranking.groups if group.probability >= 0.04]
    assert all(prepared.mean[row[fault.key], place] > prepared.mean[0, place] for fault in named), named
    assert ranking.other > 0.9 or named


@pytest.mark.parametrize("share", [0.3, 0.6])
def test_the_same_joints_are_named_where_the_volts_are_low(prepared, share):
    good = float(prepared.nominal[prepared.index["first/heater"]])
    low = Observation("first/heater", share * good, 0.01 * good, repeated=True, line_known=True)
    kinds = {fault.kind for group in rank(prepared, [low]).groups[:4] for fault in group.faults}
    assert kinds & {"cold contact", "cold joint"}
