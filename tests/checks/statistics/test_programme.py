"""Rolled-through yield, and how many builds a release would still take."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import beta

from checks.errors import ChecksError
from checks.statistics.programme import first_pass_yield, forecast_builds
from checks.statistics.proportions import wilson


def test_one_stage_is_jeffreys_interval():
    """Jeffreys's interval in closed form by scipy.stats.beta (reference library)."""
    result = first_pass_yield([(9, 12)])
    assert result.share == pytest.approx(0.75)
    assert (result.low, result.high) == pytest.approx(tuple(beta(9.5, 3.5).ppf([0.025, 0.975])), abs=0.01)


def test_the_product_of_stages_is_worse_than_the_worst():
    result = first_pass_yield([(10, 12), (11, 12), (6, 12)])
    assert result.share == pytest.approx(10 / 12 * 11 / 12 * 0.5)
    assert result.low < result.share < result.high


def test_rolled_yield_against_the_usual_worked_form():
    """0.90 x 0.95 x 0.80 = 0.684: rolled throughput yield is the product of the steps' yields (common practice)."""
    assert first_pass_yield([(90, 100), (95, 100), (80, 100)]).share == pytest.approx(0.684)


@pytest.mark.parametrize("stages", [[], [(3, 4), (0, 0)]])
def test_nothing_is_said_before_every_stage_was_done(stages):
    assert first_pass_yield(stages).share is None


@pytest.mark.parametrize(
    "wrong",
    [lambda: first_pass_yield([(5, 4)]), lambda: first_pass_yield([(-1, 4)]), lambda: forecast_builds(3, 4, 1.2)],
)
def test_counts_that_are_no_shares_are_refused(wrong):
    with pytest.raises(ChecksError):
        wrong()


@pytest.mark.lengthy
@given(st.integers(0, 12), st.integers(0, 6), st.sampled_from([0.5, 0.6, 0.8]))
def test_clean_builds_reach_the_bound_and_one_fewer_do_not(right, wrong, least):
    ahead = forecast_builds(right, right + wrong, least)
    if ahead.clean:
        assert wilson(right + ahead.clean, right + wrong + ahead.clean, 0.9).low >= least
        assert wilson(right + ahead.clean - 1, right + wrong + ahead.clean - 1, 0.9).low < least
    if ahead.clean is not None and ahead.likely is not None:
        assert ahead.likely >= ahead.clean


def test_a_poor_stage_is_told_to_be_mended_first():
    assert forecast_builds(4, 12, 0.8).likely is None
