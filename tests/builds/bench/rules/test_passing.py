"""What lets a check pass, and how far a concession reaches."""

from types import SimpleNamespace

import pytest

from builds.bench.readings.passing import _is_no_farther, find_latest, is_confirmed, passes, supersedes
from tests.builds.bench.rules.rows import NOON, after

IN_BAND, CLOSE, OUT, STOP = "in band", "too close to call", "out of band", "switch off"


def reading(outcome=OUT, **fields):
    usual = {"confirms": False, "is_slip": False, "at": NOON, "attempt": 1, "deviation": 2.0, "u": 0.0}
    return SimpleNamespace(
        outcome=outcome, **{**usual, "true_value": 100.0, "at_reference": None, "low": 50.0, "high": 90.0, **fields}
    )


@pytest.mark.parametrize("confirmed", [False, True])
@pytest.mark.parametrize("conceded", [False, True])
@pytest.mark.parametrize("outcome", [IN_BAND, CLOSE, OUT, STOP])
def test_what_passes_is_in_band_or_confirmed_or_conceded_and_never_a_stop(outcome, confirmed, conceded):
    wanted = outcome != STOP and (outcome == IN_BAND or conceded or (outcome == CLOSE and confirmed))
    assert passes(reading(outcome), confirmed=confirmed, conceded=conceded) is wanted


def test_two_attempts_confirm_each_other_only_where_both_lie_in_band_and_neither_is_a_slip():
    good, bad = reading(confirms=True), reading()
    assert is_confirmed(good, good)
    assert not is_confirmed(good, bad) and not is_confirmed(bad, good) and not is_confirmed(good, None)
    assert not is_confirmed(reading(confirms=True, is_slip=True), good)


def test_an_entry_made_before_the_one_on_record_does_not_take_its_place_unless_it_is_a_stop():
    earlier = reading(IN_BAND, at=NOON)
    assert supersedes(reading(at=after(1)), earlier) and supersedes(reading(at=NOON), earlier)
    assert not supersedes(reading(at=after(-1)), earlier)
    assert supersedes(reading(STOP, at=after(-1)), earlier) and supersedes(reading(at=NOON), None)


def test_a_check_stands_on_the_latest_by_its_moment_or_on_a_stop():
    first, late = reading(attempt=1, at=after(5)), reading(attempt=2, at=after(3))
    assert find_latest([late, first]) is first and find_latest([]) is None
    stop = reading(STOP, attempt=3, at=after(1))
    assert find_latest([stop, first, late]) is stop


def test_a_concession_reaches_a_tenth_farther_and_no_more():
    seen = reading(deviation=2.0, true_value=100.0)
    assert _is_no_farther(reading(deviation=2.2, true_value=110.0), seen)
    assert not _is_no_farther(reading(deviation=2.21, true_value=110.0), seen)
    assert not _is_no_farther(reading(deviation=2.2, true_value=110.5), seen)
    assert _is_no_farther(reading(deviation=0.5, true_value=60.0), seen)


def test_a_concession_does_not_reach_the_other_side():
    assert not _is_no_farther(reading(deviation=-2.0, true_value=40.0), reading(deviation=2.0))
    low = reading(deviation=-2.0, true_value=40.0)
    assert _is_no_farther(reading(deviation=-2.0, true_value=36.0), low)
    assert not _is_no_farther(reading(deviation=-2.0, true_value=35.0), low)


def test_a_concession_reaches_whatever_lies_nearer_to_the_middle():
    assert _is_no_farther(reading(deviation=0.4, true_value=72.0), reading(deviation=1.2, true_value=92.0))
    assert _is_no_farther(reading(deviation=0.0, true_value=70.0), reading(deviation=2.0))
    assert _is_no_farther(reading(deviation=0.0, true_value=70.0), reading(deviation=0.0, true_value=70.0))


def test_the_meters_doubt_of_both_readings_widens_what_was_conceded():
    """Two standard uncertainties of a difference, √(u² + u²) (JCGM 100:2008, 5.1.2): 2·√(3² + 4²) = 10 beside 10 %."""
    seen = reading(true_value=100.0, u=3.0)
    assert _is_no_farther(reading(true_value=120.0, u=4.0), seen)
    assert not _is_no_farther(reading(true_value=120.5, u=4.0), seen)


def test_over_range_is_farther_than_any_figure():
    over, figure = reading(true_value=None), reading(true_value=100.0)
    assert not _is_no_farther(over, figure)
    assert _is_no_farther(over, over) and _is_no_farther(figure, over)


def test_what_was_read_is_compared_at_the_guides_mains():
    seen = reading(true_value=150.0, at_reference=100.0)
    assert not _is_no_farther(reading(true_value=100.0, at_reference=120.0), seen)
    assert _is_no_farther(reading(true_value=300.0, at_reference=105.0), seen)


def test_the_sign_counts_for_nothing_where_only_an_upper_limit_is_given():
    leak = {"low": None, "high": 0.01}
    seen = reading(true_value=-0.05, **leak)
    assert _is_no_farther(reading(true_value=0.05, **leak), seen)
    assert not _is_no_farther(reading(true_value=-0.06, **leak), seen)
    below_zero = {"low": None, "high": -1.0}  # at most −1 V: the sign is the reading's own
    assert not _is_no_farther(reading(true_value=0.5, **below_zero), reading(true_value=-0.5, **below_zero))
