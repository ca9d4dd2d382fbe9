"""What a ranking says when all is added up, and what readings it takes, by figures that can be worked out by hand."""

import numpy as np
import pytest

from checks.diagnosis.ambiguity import Group
from checks.diagnosis.common_mistakes import COMMON, MistakeKind, likeliest_mistake
from checks.diagnosis.fault import Fault
from checks.diagnosis.ranking import (
    AGAIN,
    EXPLAINS,
    ILL_FITTING,
    SLIP,
    SURE,
    Observation,
    Ranking,
    _judged,
    least_over_range,
)
from checks.diagnosis.slips import Slip, SlipKind
from checks.errors import CallerError, ChecksError

FAULTS = tuple(Fault(f"F{n}", f"fault {n}", "open", (f"R{n}",), 1.0) for n in range(4))


def ranking(healthy=0.2, other=0.1, shown=(0.3, 0.1), unseen=0.2, mistake=0.1):
    found = likeliest_mistake(np.array([mistake, 0.0, 0.0])) if mistake else None
    groups = tuple(Group((fault,), p) for fault, p in zip(FAULTS, shown, strict=False))
    slips = (Slip("one/c0", SlipKind.UNKNOWN, 0.4),)
    return Ranking(healthy, other, groups, np.array([*shown, unseen]), Group(FAULTS[2:3], unseen), slips, found)


def test_a_kit_is_clear_as_far_as_it_is_good_or_what_is_wrong_shows_nowhere_or_lies_in_the_reading():
    assert ranking().clear == pytest.approx(0.2 + 0.2 + 0.1)
    assert ranking(mistake=0.0, healthy=0.3).clear == pytest.approx(0.3 + 0.2)


@pytest.mark.parametrize(("healthy", "fits"), [(SURE - 0.31, False), (SURE - 0.29, True)])
def test_readings_fit_a_good_kit_where_that_is_more_likely_than_not(healthy, fits):
    assert ranking(healthy=healthy).fits_good_kit is fits


def test_readings_that_speak_as_much_for_a_fault_as_for_a_good_kit_fit_none():
    assert not ranking(healthy=0.5, unseen=0.0, mistake=0.0).fits_good_kit


@pytest.mark.parametrize(("p", "kind"), [(0.49, None), (0.5, None), (0.51, MistakeKind.LEADS_SWAPPED)])
def test_one_mistake_is_named_where_it_is_more_likely_than_not(p, kind):
    assert ranking(mistake=p).sure_mistake == kind


def test_no_mistake_is_sure_where_none_was_found():
    assert ranking(mistake=0.0).sure_mistake is None


@pytest.mark.parametrize(("p", "found"), [(0.049, False), (0.05, True)])
def test_a_mistake_is_worth_a_word_from_one_in_twenty(p, found):
    assert (likeliest_mistake(np.array([0.0, 0.01, p])) is not None) is found


def test_the_likelier_mistake_is_the_one_that_is_told():
    told = likeliest_mistake(np.array([0.1, 0.3, 0.2]))
    assert (told.kind, told.probability) == (COMMON[1].kind, 0.3)


def test_past_a_stop_there_is_no_good_kit_no_slip_and_no_mistake_and_the_rest_is_one():
    left = ranking().condition_on_fault()
    assert (left.healthy, left.slips, left.mistake, left.unseen.faults) == (0.0, (), None, ())
    assert left.clear == 0.0 and not left.fits_good_kit
    assert [group.probability for group in left.groups] == pytest.approx([0.3 / 0.5, 0.1 / 0.5])
    assert left.other == pytest.approx(0.1 / 0.5)
    assert [group.faults for group in left.groups] == [group.faults for group in ranking().groups]
    assert left.each == pytest.approx(np.array([0.3, 0.1, 0.2]) / 0.5)


def test_past_a_stop_that_no_listed_fault_could_cause_it_is_something_else():
    left = ranking(healthy=0.8, other=0.0, shown=(), unseen=0.2).condition_on_fault()
    assert (left.healthy, left.other, left.groups, left.clear) == (0.0, 1.0, (), 0.0)


def test_something_else_alone_counts_as_a_fault_past_a_stop():
    left = ranking(healthy=0.9, other=0.1, shown=(), unseen=0.0).condition_on_fault()
    assert left.other == pytest.approx(1.0)


def test_a_reading_past_its_stop_is_never_a_slip_and_one_read_twice_hardly():
    assert Observation("c", 1.0).slip_chance == SLIP == 0.01
    assert Observation("c", 1.0, repeated=True).slip_chance == pytest.approx(SLIP * AGAIN) == pytest.approx(0.0003)
    assert Observation("c", 1.0, past_stop=True).slip_chance == 0.0
    assert Observation("c", 1.0, repeated=True, past_stop=True).slip_chance == 0.0


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf")])
def test_a_reading_that_is_no_number_is_refused(value):
    with pytest.raises(CallerError, match="finite number"):
        Observation("c", value)


@pytest.mark.parametrize("u", [-1e-9, float("nan")])
def test_an_uncertainty_below_nothing_is_refused(u):
    with pytest.raises(CallerError, match="zero or more"):
        Observation("c", 1.0, u=u)
    assert Observation("c", 1.0, u=0.0).u == 0.0 and Observation("c", None).value is None


@pytest.mark.parametrize("ohms", [0.0, -1e6, float("nan"), float("inf")])
def test_a_meter_without_resistance_is_refused(ohms):
    with pytest.raises(ChecksError):
        Observation("c", 1.0, meter_ohms=ohms)


@pytest.mark.parametrize(
    ("power", "nominal", "least"),
    [
        ("on", 100.0, 600.0),
        ("on", 400.0, 600.0),
        ("on", 500.0, 750.0),
        ("off", 1e3, 2e6),
        ("off", 3e6, 4.5e6),
        ("off", 4e6, 6e6),
        ("off", 4.1e6, 2e6),
        ("off", 10e6, 2e6),
    ],
)
def test_over_range_means_at_least_what_nearly_every_meter_reads_to(power, nominal, least):
    """Common practice: 600 V and 2 MΩ ranges end there; above 4 MΩ many meters give up, so that it tells little."""
    assert least_over_range(power, nominal) == pytest.approx(least)


def judged(p, tail, logs):
    return _judged(np.array(p), np.array(tail), np.array(logs))


def test_a_fault_that_fits_ill_leaves_its_probability_to_something_else():
    """Healthy, two faults, something else, one mistake; the first fault fits half as well as one must."""
    p = judged([0.1, 0.6, 0.2, 0.05, 0.05], [1.0, ILL_FITTING / 2, 1.0], [0.0, 5.0, 5.0])
    assert p == pytest.approx([0.1, 0.3, 0.2, 0.35, 0.05])


def test_a_fault_that_fits_as_well_as_one_in_twenty_keeps_its_probability():
    p = [0.1, 0.6, 0.2, 0.05, 0.05]
    assert judged(p, [1.0, ILL_FITTING, 0.9], [0.0, 5.0, 5.0]) == pytest.approx(p)


def test_a_fault_that_explains_no_more_than_a_good_kit_leaves_its_probability_to_all():
    p = judged([0.1, 0.6, 0.2, 0.05, 0.05], [1.0, 0.0, 1.0], [0.0, EXPLAINS - 0.01, 5.0])
    assert p == pytest.approx(np.array([0.1, 0.0, 0.2, 0.05, 0.05]) / 0.4)


def test_a_good_kit_that_fits_ill_is_not_taken_down_for_it():
    p = [0.5, 0.3, 0.1, 0.05, 0.05]
    assert judged(p, [0.0, 1.0, 1.0], [0.0, 1.0, 1.0]) == pytest.approx(p)
