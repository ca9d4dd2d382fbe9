"""Proposed figures and bands, before and after, and dependences."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ndtr

from checks.errors import ChecksError
from checks.statistics.dependence import dependence
from checks.statistics.difference import clean_builds_needed, compare
from checks.statistics.outliers import esd, grubbs_critical
from checks.statistics.proportions import wilson
from checks.statistics.tolerance import (
    LEAST_CONTENT,
    THROUGH,
    Limit,
    Limits,
    Reason,
    Scatter,
    compute_scatter,
    content_for,
    factor,
    half_width,
    propose,
    rounded,
)

GOOD = (228.0, 229.0, 230.0, 229.5, 228.5, 231.0)


def suggest(values, u=0.0, checks=1, **limits):
    return propose(compute_scatter(values, u), Limits(**limits), checks=checks)


@pytest.mark.lengthy
def test_a_proposal_holds_what_it_says_as_often_as_it_says():
    """Beside 90 % confidence for 8 builds and more there is a little more for fewer; both are held."""
    random = np.random.default_rng(5)
    for n in (5, 8, 20):
        held, confidence = 0, 0.0
        for _ in range(1000):
            scatter = compute_scatter(random.normal(229, 4, n))
            half, confidence = half_width(scatter, LEAST_CONTENT)
            low, high = (scatter.centre - half - 229) / 4, (scatter.centre + half - 229) / 4
            held += ndtr(high) - ndtr(low) >= LEAST_CONTENT
        assert abs(held / 1000 - confidence) <= 0.01 + 2 * np.sqrt(0.9 * 0.1 / 1000)


def test_more_checks_ask_for_wider_bands_of_each():
    """Forty bands that each hold 0.9 ** (1/40) let 90 % of good builds through, were they independent."""
    assert content_for(40) == pytest.approx(0.99737, abs=1e-5) and content_for(1) == LEAST_CONTENT
    few, many = suggest(GOOD), suggest(GOOD, checks=40)
    assert many.high - many.low > few.high - few.low and (many.checks, many.through) == (40, THROUGH)
    with pytest.raises(ChecksError):
        content_for(0)


def test_a_build_far_off_does_not_widen_the_band():
    assert suggest([*GOOD, 12.0]).high == pytest.approx(suggest(GOOD).high)


@pytest.mark.parametrize("side", [1, -1])
def test_a_band_ends_short_of_a_stop_limit_and_says_so(side):
    values = [side * v for v in (380.0, 390.0, 385.0, 395.0, 388.0)]
    suggestion = suggest(values, stop_above=400.0) if side > 0 else suggest(values, stop_below=-400.0)
    assert max(abs(suggestion.high), abs(suggestion.low)) < 400
    assert suggestion.limit == (Limit.STOP_ABOVE if side > 0 else Limit.STOP_BELOW)
    assert suggest(values).limit == ""  # the control


def test_the_guard_near_a_stop_withholds_a_figure_that_a_reading_could_not_tell_from_it():
    """Builds in the middle of 98 V, read to 3 V: a stop at 101 V is no further away than one reading is sure."""
    values = [97.9, 98.0, 98.1, 98.0, 98.0]
    near, far = suggest(values, u=3.0, stop_above=101.0), suggest(values, u=0.01, stop_above=101.0)
    assert not near and (near.reason, near.limit) == (Reason.BEYOND, Limit.STOP_ABOVE)
    assert far and far.high < 101


def test_the_guard_near_a_stop_withholds_a_band_of_which_next_to_nothing_is_left():
    """Half the band is 20 V or so: a stop limit 1 V above the middle leaves a twentieth of it."""
    values = [80.0, 84.0, 76.0, 82.0, 78.0]
    assert suggest(values, stop_above=82.0).reason == Reason.BEYOND
    assert suggest(values, stop_above=90.0).limit == Limit.STOP_ABOVE


def test_fewer_than_five_builds_propose_nothing():
    assert suggest([100.0, 101.0, 99.0, 100.5]) is None and suggest([100.0, 101.0, 99.0, 100.5, 100.2])
    assert suggest([100.0, 101.0, 99.0, 100.5, 500.0]) is None  # the fifth is far off and left out
    assert suggest([]) is None and suggest([1.0]) is None


def test_two_wrong_builds_of_three_propose_nothing():
    """0.1, 5.0 and 5.2 half-bands off 100 V: once a band from -62.8 to 331 V."""
    assert suggest([101.0, 150.0, 152.0]) is None


def test_a_band_that_would_take_the_other_polarity_is_not_proposed():
    """Five builds from 5 to 200 V: a band from below 0 V would pass a rail of the wrong polarity."""
    wide = [5.0, 60.0, 110.0, 160.0, 200.0]
    assert suggest(wide).reason == Reason.ACROSS_ZERO
    assert suggest(wide, across_zero=True).low < 0
    assert not suggest([-v for v in wide])


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


@pytest.mark.lengthy
@given(st.integers(0, 12), st.integers(1, 12), st.integers(0, 12), st.integers(1, 12))
def test_the_interval_holds_the_difference_it_is_of(x, n, y, m):
    comparison = compare(min(x, n), n, min(y, m), m)
    assert comparison.low - 1e-9 <= comparison.difference <= comparison.high + 1e-9


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
        lambda: compute_scatter([1.0, float("inf"), 2.0]),
    ],
)
def test_what_cannot_be_is_refused(wrong):
    with pytest.raises(ChecksError):
        wrong()


limit = st.floats(-50, 150).map(lambda x: round(x, 2))


@pytest.mark.lengthy
@given(
    st.lists(st.floats(-40, 140), min_size=3, max_size=12),
    st.floats(0, 5),
    st.none() | limit,
    st.none() | limit,
    st.none() | st.floats(50, 130),
    st.booleans(),
)
def test_no_proposal_crosses_a_limit_is_upside_down_or_has_no_width(values, u, below, above, rated, across):
    rated = rated and (rated, "C1")
    suggestion = suggest(values, u=u, stop_below=below, stop_above=above, rated=rated, across_zero=across)
    if suggestion:
        assert suggestion.low < suggestion.figure < suggestion.high
        assert across or not suggestion.low < 0 < suggestion.high
        assert above is None or suggestion.high < above
        assert below is None or suggestion.low > below
        assert rated is None or max(abs(suggestion.low), abs(suggestion.high)) <= rated[0]
        written = [float(f"{v:.{suggestion.digits}g}") for v in (suggestion.low, suggestion.high)]
        assert written[0] < written[1]
    else:
        assert suggestion is None or suggestion.reason in tuple(Reason)


@pytest.mark.parametrize(
    ("values", "above"),
    [((104, 105, 106, 105, 104), 100), ((92, 95, 98, 94, 99), 96), ((700, 701, 702, 701, 700), 400)],
)
def test_builds_at_or_beyond_a_stop_limit_propose_nothing_and_it_is_said_why(values, above):
    suggestion = suggest(values, stop_above=above)
    assert not suggestion and (suggestion.reason, suggestion.limit) == (Reason.BEYOND, Limit.STOP_ABOVE)
    assert suggest([-v for v in values], stop_below=-above).limit == Limit.STOP_BELOW
    rated = suggest(values, rated=(above, "C1"))
    assert (rated.limit, rated.part) == (Limit.RATING, "C1")


def test_readings_all_alike_get_the_band_that_the_meter_can_tell():
    suggestion = suggest([5.0] * 5, u=0.03)
    k, _ = half_width(Scatter(5, 5.0, 0.0, 0.03), LEAST_CONTENT)
    assert suggestion.low == pytest.approx(5 - k) and suggestion.figure == 5 and k >= factor(5, 4) * 0.03
    assert suggest([5.0] * 5).reason == Reason.ALIKE
    # alike but for less than the meter tells
    assert suggest([5.0, 5.01, 4.99, 5.0, 5.0], u=0.03).high == pytest.approx(suggestion.high)


@pytest.mark.parametrize("u", [0.0, 0.02])
def test_a_build_far_off_is_left_out_though_the_others_read_alike(u):
    """Five builds at 4.7 V and one at 300 V."""
    result = compute_scatter([4.7] * 5 + [300.0], u)
    assert (result.n, result.centre) == (5, pytest.approx(4.7))


def test_an_uncertainty_below_zero_is_refused():
    with pytest.raises(ChecksError):
        compute_scatter([1.0, 2.0, 3.0], -1.0)
