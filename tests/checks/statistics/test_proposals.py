"""Proposed figures and bands, before and after, and dependences."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.errors import ChecksError
from checks.statistics.dependence import dependence
from checks.statistics.difference import clean_builds_needed, compare
from checks.statistics.outliers import esd, grubbs_critical
from checks.statistics.proportions import wilson
from checks.statistics.tolerance import factor, propose, rounded


def test_a_proposal_holds_95_per_cent_of_future_builds_nine_times_in_ten():
    random = np.random.default_rng(5)
    from scipy.special import ndtr

    held = 0
    for _ in range(300):
        found = propose(random.normal(229, 4, 8))
        held += ndtr((found.high - 229) / 4) - ndtr((found.low - 229) / 4) >= 0.95
    assert 0.84 <= held / 300 <= 0.96


def test_the_circuits_own_spread_steadies_few_builds():
    few = [228.0, 229.5, 230.0, 229.0, 229.8]
    alone, helped = propose(few), propose(few, model_sd=4.0)
    assert helped.high - helped.low != alone.high - alone.low
    assert 8 < helped.high - helped.low < 40


def test_a_build_far_off_does_not_widen_the_band():
    good = [228.0, 229.0, 230.0, 229.5, 228.5, 231.0]
    assert propose([*good, 12.0]).high == pytest.approx(propose(good).high)


def test_a_band_ends_short_of_a_stop_limit_and_says_so():
    found = propose([380.0, 390.0, 385.0, 395.0, 388.0], stop_above=400.0)
    assert found.high < 400
    assert found.held == "the stop limit above"


def test_fewer_than_five_builds_propose_nothing():
    assert propose([100.0, 101.0, 99.0, 100.5]) is None and propose([100.0, 101.0, 99.0, 100.5, 100.2])
    assert propose([100.0, 101.0, 99.0, 100.5, 500.0]) is None  # the fifth is far off and left out


def test_a_band_that_would_take_the_other_polarity_is_not_proposed():
    """Five builds from 5 to 200 V: a band from below 0 V would pass a rail of the wrong polarity."""
    wide = [5.0, 60.0, 110.0, 160.0, 200.0]
    assert not propose(wide) and propose(wide) is not None
    assert propose(wide, across_zero=True).low < 0
    assert not propose([-v for v in wide])


@given(st.floats(1, 1000), st.floats(0.5, 100))
def test_rounding_moves_a_figure_by_less_than_a_tenth_of_its_band(value, half):
    assert abs(rounded(value, half) - value) <= half / 10 * 0.51


def test_more_builds_need_a_smaller_factor():
    assert factor(5, 4) > factor(10, 9) > factor(100, 99) > 1.96


def test_a_change_that_helped_is_told_from_one_that_may_have():
    assert compare(2, 12, 9, 10).verdict == "better"
    assert compare(9, 10, 2, 12).verdict == "worse"
    assert compare(3, 6, 4, 6).verdict == "can't tell"
    assert compare(3, 6, 0, 0).verdict == "can't tell"


@given(st.integers(0, 12), st.integers(1, 12), st.integers(0, 12), st.integers(1, 12))
def test_the_interval_holds_the_difference_it_is_of(x, n, y, m):
    found = compare(min(x, n), n, min(y, m), m)
    assert found.low - 1e-9 <= found.difference <= found.high + 1e-9


def test_about_how_many_clean_builds_are_missing():
    missing = clean_builds_needed(6, 7, 0.7)
    assert wilson(6 + missing, 7 + missing).low >= 0.7 > wilson(6 + missing - 1, 7 + missing - 1).low
    assert clean_builds_needed(50, 50, 0.7) == 0


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: factor(1, 0),
        lambda: factor(5, 4, 1.5),
        lambda: compare(3, 2, 0, 1),
        lambda: esd([1, 2, 3]),
        lambda: grubbs_critical(2),
        lambda: dependence([1, 2], ["a"]),
        lambda: clean_builds_needed(1, 2, 1.0),
        lambda: propose([1.0, float("inf"), 2.0]),
    ],
)
def test_what_cannot_be_is_refused(wrong):
    with pytest.raises(ChecksError):
        wrong()


limit = st.floats(-50, 150).map(lambda x: round(x, 2))


@given(
    st.lists(st.floats(-40, 140), min_size=3, max_size=12),
    st.floats(0, 5),
    st.none() | limit,
    st.none() | limit,
    st.none() | st.floats(50, 130),
    st.booleans(),
)
def test_no_proposal_crosses_a_limit_is_upside_down_or_has_no_width(values, u, below, above, rated, across):
    found = propose(values, u=u, stop_below=below, stop_above=above, rated=rated and (rated, "C1"), across_zero=across)
    if found:
        assert found.low < found.figure < found.high
        assert across or not found.low < 0 < found.high
        assert above is None or found.high < above
        assert below is None or found.low > below
        assert rated is None or max(abs(found.low), abs(found.high)) <= rated
        written = [float(f"{v:.{found.digits}g}") for v in (found.low, found.high)]
        assert written[0] < written[1]
    else:
        assert found is None or found.why


@pytest.mark.parametrize(
    ("values", "above"),
    [((104, 105, 106, 105, 104), 100), ((92, 95, 98, 94, 99), 96), ((700, 701, 702, 701, 700), 400)],
)
def test_builds_at_or_beyond_a_stop_limit_propose_nothing_and_it_is_said_why(values, above):
    found = propose(values, stop_above=above)
    assert not found and "the stop limit above" in found.why
    assert "the stop limit below" in propose([-v for v in values], stop_below=-above).why


def test_readings_all_alike_get_the_band_that_the_meter_can_tell():
    found = propose([5.0] * 5, u=0.03)
    assert found.low == pytest.approx(5 - factor(5, 4) * 0.03) and found.figure == 5
    assert "alike" in propose([5.0] * 5).why
    assert propose([5.0, 5.01, 4.99, 5.0, 5.0], u=0.03).high == pytest.approx(
        found.high
    )  # alike but for less than the meter tells


@pytest.mark.parametrize("u", [0.0, 0.02])
def test_a_build_far_off_is_left_out_though_the_others_read_alike(u):
    """Five builds at 4.7 V and one at 300 V."""
    found = propose([4.7] * 5 + [300.0], u=u, model_sd=0.1)
    assert found.n == 5 and 4 < found.low < found.high < 6


def test_an_uncertainty_below_zero_is_refused():
    with pytest.raises(ChecksError):
        propose([1.0, 2.0, 3.0], u=-1.0)
