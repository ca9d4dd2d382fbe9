"""Which causes are shown as one: those that the readings speak for alike, and no crowd."""

from types import SimpleNamespace

import numpy as np
import pytest

from checks.diagnosis.ambiguity import LEAST_DIFFERENCE, MOST_PATHS, MOST_PLACES, SHARE, SPEAKS, Group, join_ambiguous
from checks.diagnosis.codes import FaultCode


def fault(key, *refs, code=FaultCode.OPEN):
    return SimpleNamespace(key=key, refs=refs, code=code)


def kit(*faults):
    return SimpleNamespace(faults=faults)


R1, R2, R3, R4 = (fault(f"R{n} open", f"R{n}") for n in (1, 2, 3, 4))
EACH, LOGS = np.array([0.4, 0.3, 0.2, 0.1]), np.array([9.0, 9.0, 9.0, 9.0])
APART = [[0], [1], [2], [3]]


def test_causes_that_only_the_weights_of_the_list_choose_between_are_one():
    assert join_ambiguous(kit(R1, R2), [[0], [1]], np.array([0.8, 0.2]), LOGS[:2], 0.0) == [[0, 1]]


@pytest.mark.parametrize(
    ("apart", "groups"),
    [(LEAST_DIFFERENCE - 0.1, [[0, 1]]), (LEAST_DIFFERENCE + 0.1, [[0], [1]])],
)
def test_causes_that_the_readings_choose_between_are_two(apart, groups):
    logs = np.array([9.0, 9.0 - apart])
    assert join_ambiguous(kit(R1, R2), [[0], [1]], np.array([0.6, 0.4]), logs, 0.0) == groups


def test_a_cause_that_the_readings_speak_for_is_not_left_out_because_the_list_has_it_as_less_likely():
    """No volts anywhere, a dead rectifier the likelier by far, and readings that fit a joint in the mains better."""
    logs = np.array([9.0, 9.0 + 2 * LEAST_DIFFERENCE])
    assert join_ambiguous(kit(R1, R2), [[0], [1]], np.array([0.7, 0.3]), logs, 0.0) == [[0, 1]]


def test_no_more_than_four_places_are_told_as_one():
    each, logs = np.array([0.4, 0.25, 0.2, 0.1, 0.05]), np.full(5, 9.0)
    groups = join_ambiguous(kit(R1, R2, R3, R4, fault("R5 open", "R5")), [*APART, [4]], each, logs, 0.0)
    assert groups == [[0, 1, 2, 3], [4]]
    assert MOST_PLACES == 4


def test_a_further_way_of_the_same_part_is_folded_into_its_place():
    """However well it fits: whoever looks there sees what is wrong."""
    ways = kit(R1, R2, R3, fault("R1 x10", "R1", code=FaultCode.TEN_TIMES_TOO_LARGE))
    (group,) = join_ambiguous(ways, APART, EACH, np.array([9.0, 9.0, 9.0, 9.0 - 2 * LEAST_DIFFERENCE]), 0.0)
    assert sorted(group) == [0, 1, 2, 3]


def test_ways_at_one_place_count_together_when_the_readings_choose_none():
    """Three capacitors, each a twentieth as likely as the resistor beside them, are looked at with it."""
    leaks = [fault(f"C{n} leaky", f"C{n}", code=FaultCode.CAPACITOR_LEAKY) for n in (1, 2, 3)]
    each = np.array([0.9, *[0.9 * SHARE * 0.8] * 3])
    (group,) = join_ambiguous(kit(R1, *leaks), APART, each, LOGS, 0.0)
    assert sorted(group) == [0, 1, 2, 3]
    assert len(join_ambiguous(kit(R1, leaks[0]), APART[:2], each[:2], LOGS[:2], 0.0)) == 2


def test_all_capacitors_are_one_place_to_look_at():
    leaks = [fault(f"C{n} leaky", f"C{n}", code=FaultCode.CAPACITOR_LEAKY) for n in (1, 2, 3)]
    assert join_ambiguous(kit(*leaks, R4), APART, EACH, LOGS, 0.0) == [[0, 1, 2, 3]]
    assert [len(place) for place in Group((*leaks, R4), 1.0).places] == [3, 1]


def test_what_shows_no_more_than_a_healthy_kit_is_not_gathered():
    """Faults of stages not reached yet read all as a good kit: together they would outweigh what does show."""
    healthy = 9.0 - SPEAKS
    assert join_ambiguous(kit(R1, R2), [[0], [1]], np.array([0.6, 0.4]), LOGS[:2], healthy) == [[0], [1]]


def test_a_cause_that_hardly_counts_stays_by_itself():
    each = np.array([0.9, 0.9 * SHARE / 2])
    assert join_ambiguous(kit(R1, R2), [[0], [1]], each, LOGS[:2], 0.0) == [[0], [1]]


def test_a_fault_of_no_part_is_a_place_of_its_own():
    mains = fault("mains x0.88", code=FaultCode.MAINS_LOW)
    assert Group((mains, R1, R2), 1.0).places == ((mains,), (R1,), (R2,))


def test_a_further_place_that_is_hardly_likely_keeps_no_causes_apart():
    """Faults that the guide never tells apart come as one set: three of its places are not worth a look here."""
    rare = [fault(f"C{n} cold", f"C{n}", code=FaultCode.COLD_JOINT) for n in (1, 2, 3)]
    each, logs = np.array([0.6, 0.39, *[0.39 * SHARE * 0.5] * 3]), np.full(5, 9.0)
    (reported,) = join_ambiguous(kit(R1, R2, *rare), [[0], [1, 2, 3, 4]], each, logs, 0.0)
    assert sorted(reported) == [0, 1, 2, 3, 4]
    likely = np.array([0.6, *[0.1] * 4])
    assert len(join_ambiguous(kit(R1, R2, *rare), [[0], [1, 2, 3, 4]], likely, logs, 0.0)) == 2


def test_no_more_than_twelve_paths_that_no_part_makes_are_one_answer():
    paths = [fault(f"path {n}", code=FaultCode.STRAY_PATH) for n in range(30)]
    each, logs = np.full(30, 1 / 30), np.full(30, 9.0)
    groups = join_ambiguous(kit(*paths), [[n] for n in range(30)], each, logs, 0.0)
    assert sorted(map(len, groups)) == [6, 12, 12] and MOST_PATHS == 12
    assert sorted(f for members in groups for f in members) == list(range(30))


FUSE = fault("F1 blown", "F1", code=FaultCode.FUSE_BLOWN)
TURNED = fault("D1 reversed", "D1", code=FaultCode.DIODE_REVERSED)


def test_a_rectifier_that_blows_the_fuse_is_told_with_the_fuse_however_seldom():
    """Or the next fuse blows as well."""
    each = np.array([0.99, 0.99 * SHARE / 5])
    assert join_ambiguous(kit(FUSE, TURNED), [[0], [1]], each, LOGS[:2], 0.0) == [[0, 1]]
    assert join_ambiguous(kit(R1, TURNED), [[0], [1]], each, LOGS[:2], 0.0) == [[0], [1]]


def test_a_rectifier_whose_resistances_speak_against_it_is_not_told_with_the_fuse():
    each, logs = np.array([0.99, 0.01]), np.array([9.0, 9.0 - LEAST_DIFFERENCE - 0.1])
    assert join_ambiguous(kit(FUSE, TURNED), [[0], [1]], each, logs, 0.0) == [[0], [1]]


def test_two_parts_in_each_others_place_are_found_at_either():
    """Whoever looks at R1 sees that R5's value is in its place: that is nowhere else to look."""
    swapped = fault("R5 and R1 swapped", "R5", "R1", code=FaultCode.CHANGED_PLACES)
    each, logs = np.array([0.35, 0.25, 0.2, 0.1, 0.1]), np.full(5, 9.0)
    parts = kit(R1, R2, R3, R4, swapped)
    assert join_ambiguous(parts, [*APART, [4]], each, logs, 0.0) == [[0, 1, 2, 3, 4]]
    assert Group((R1, swapped, R2), 1.0).places == ((R1, swapped), (R2,))
    elsewhere = fault("R5 and R6 swapped", "R5", "R6", code=FaultCode.CHANGED_PLACES)
    assert len(join_ambiguous(kit(R1, R2, R3, R4, elsewhere), [*APART, [4]], each, logs, 0.0)) == 2


def test_two_valves_in_each_others_sockets_are_found_at_either():
    dead = fault("V3 dead", "V3", code=FaultCode.VALVE_DEAD)
    exchanged = fault("V1 and V3 exchanged", "V1", "V3", code=FaultCode.VALVES_EXCHANGED)
    each, logs = np.array([0.35, 0.25, 0.2, 0.1, 0.1]), np.full(5, 9.0)
    parts = kit(dead, R2, R3, R4, exchanged)
    assert join_ambiguous(parts, [*APART, [4]], each, logs, 0.0) == [[0, 1, 2, 3, 4]]
    assert Group((dead, exchanged, R2), 1.0).places == ((dead, exchanged), (R2,))
