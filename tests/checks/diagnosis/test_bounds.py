"""A dictionary's size has a bound, and what is left out is named; what a designer wrote stays."""

from types import SimpleNamespace

import pytest

from checks.circuit.prediction.probes import Probe
from checks.diagnosis.bounds import FEWEST_DRAWN, FULLY_DRAWN, bound_dictionary, samples_for
from checks.diagnosis.codes import FaultCode
from checks.diagnosis.fault import Fault
from checks.diagnosis.place import Place


def fault(n, code=FaultCode.OPEN, weight=1.0):
    return Fault(f"{code.value} {n}", "own" if code is FaultCode.OWN else "", "kind", ("R1",), weight, code=code)


def place(n, power="on", check="check"):
    return Place("stage" if check else "", check and f"{check}-{n}", Probe(f"n{n}", "chassis", "dc volts"), power)


CONDITION = SimpleNamespace()
FAULTS = (
    *(fault(n, FaultCode.MISREAD) for n in range(10)),
    *(fault(n, FaultCode.OWN, 0.01) for n in range(2)),
    *(fault(n, FaultCode.OPEN, 3.0) for n in range(10)),
    *(fault(n, FaultCode.VALVE_GASSY, 0.3) for n in range(10)),
)
PLACES = [
    *(place(n) for n in range(4)),
    *(place(n, "on", "") for n in range(3)),
    *(place(n, "off", "") for n in range(3)),
]
GROUPS = [(CONDITION, PLACES)]


def numbers(faults, groups):
    return (len(faults) + 1) * sum(len(places) for _one, places in groups) ** 2


def test_a_guide_of_usual_size_keeps_all_faults_and_readings():
    faults, groups, left_out = bound_dictionary(FAULTS, GROUPS)
    assert (faults, groups) == (FAULTS, GROUPS) and not left_out


@pytest.mark.parametrize("most", [3000, 2000, 1000, 500, 200, 100])
def test_nothing_exceeds_the_bound_and_everything_left_out_is_counted(most):
    faults, groups, left_out = bound_dictionary(FAULTS, GROUPS, most)
    assert numbers(faults, groups) <= most
    assert len(faults) + sum(left_out.faults.values()) == len(FAULTS)
    assert sum(len(places) for _one, places in groups) + left_out.extras == len(PLACES)
    assert left_out


def test_readings_beside_the_guide_go_before_faults_and_covered_faults_before_others():
    assert bound_dictionary(FAULTS, GROUPS, 2000)[2].faults == {}
    assert bound_dictionary(FAULTS, GROUPS, 1200)[2].faults == {FaultCode.MISREAD.value: 10}
    assert set(bound_dictionary(FAULTS, GROUPS, 250)[2].faults) == {
        FaultCode.MISREAD.value,
        FaultCode.VALVE_GASSY.value,
    }


def test_far_paths_go_before_all_else_and_the_likelier_ones_stay_longest():
    paths = tuple(fault(n, FaultCode.STRAY_PATH) for n in range(20))
    faults, groups, left_out = bound_dictionary((*FAULTS, *paths), GROUPS, 4500)
    assert left_out.faults == {FaultCode.STRAY_PATH.value: 8} and left_out.extras == 0 and groups == GROUPS
    assert [f.key for f in faults if f.code is FaultCode.STRAY_PATH] == [f.key for f in paths[:12]]
    tight = bound_dictionary((*FAULTS, *paths), GROUPS, 3000)[2]
    assert tight.faults == {FaultCode.STRAY_PATH.value: 20}


def test_checks_of_the_guide_and_the_designers_own_faults_always_stay():
    faults, groups, _left_out = bound_dictionary(FAULTS, GROUPS, 1)
    assert [f.code for f in faults] == [FaultCode.OWN] * 2
    assert [p.check for p in groups[0][1]] == [p.check for p in PLACES if p.check]


def test_many_faults_are_drawn_from_fewer_builds_each_and_never_from_too_few():
    assert samples_for(FULLY_DRAWN, 64) == 64
    assert 24 < samples_for(FULLY_DRAWN + 200, 64) < 64
    assert samples_for(100 * FULLY_DRAWN, 64) == FEWEST_DRAWN
    assert samples_for(100 * FULLY_DRAWN, 8) == 8
