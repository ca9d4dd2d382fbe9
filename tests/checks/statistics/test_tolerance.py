"""Tolerance factors against published ones, and the proposals that rest on them, worked out by hand."""

import math

import pytest
from scipy.stats import chi2, norm

from checks.errors import ChecksError
from checks.statistics.normality import GuideShape
from checks.statistics.order_statistics import content_of_range
from checks.statistics.tolerance import (
    CONFIDENCE,
    LEAST_CONTENT,
    OUTLIER,
    THROUGH,
    Limits,
    Proposal,
    Reason,
    Scatter,
    SharedScatter,
    Withheld,
    compute_confidence,
    compute_scatter,
    content_for,
    factor,
    half_width,
    propose,
    rounded,
)


@pytest.mark.parametrize(
    ("n", "content", "confidence", "k"),
    [
        (2, 0.90, 0.95, 31.092),
        (5, 0.90, 0.95, 4.291),
        (10, 0.90, 0.95, 2.856),
        (20, 0.90, 0.95, 2.319),
        (10, 0.95, 0.95, 3.393),
        (10, 0.99, 0.99, 5.610),
    ],
)
def test_factors_are_those_of_the_published_table(n, content, confidence, k):
    """Two-sided factors for a normal population, mean and standard deviation unknown (the tables of ISO 16269-6:2014,
    annex; values from memory, good to a unit in the last place but one)."""
    assert factor(n, n - 1, content, confidence) == pytest.approx(k, rel=2e-3)


@pytest.mark.parametrize(("degrees", "n"), [(4.0, 400_000), (30.0, 10_000_000)])
def test_with_the_mean_known_the_factor_is_that_of_the_variance_alone(degrees, n):
    """k = z √(ν / χ²): what is left where only the spread is unknown."""
    k = norm.ppf(0.975) * math.sqrt(degrees / chi2.ppf(0.1, degrees))
    assert factor(n, degrees, 0.95, 0.9) == pytest.approx(k, rel=1e-4)
    assert compute_confidence(k, n, degrees, 0.95) == pytest.approx(0.9, abs=1e-4)


@pytest.mark.parametrize(
    ("asked", "argument"),
    [
        (lambda: factor(1, 5), "n"),
        (lambda: factor(5, 0.9), "n"),
        (lambda: factor(5, 4, 0.0), "content"),
        (lambda: factor(5, 4, 1.0), "content"),
        (lambda: factor(5, 4, 0.9, 0.0), "content"),
        (lambda: factor(5, 4, 0.9, 1.0), "content"),
        (lambda: content_for(0), "checks"),
        (lambda: content_for(3, 0.0), "checks"),
        (lambda: content_for(3, 1.0), "checks"),
        (lambda: compute_scatter([1.0, math.inf]), "values"),
        (lambda: compute_scatter([1.0, 2.0], -0.1), "u"),
        (lambda: compute_scatter([1.0, 2.0], math.nan), "u"),
        (lambda: Scatter(3, math.nan, 1.0), "centre"),
        (lambda: Scatter(3, 1.0, -1.0), "var"),
        (lambda: SharedScatter(1.0, -1.0), "degrees"),
    ],
)
def test_what_has_no_interval_is_refused_by_name(asked, argument):
    with pytest.raises(ChecksError) as caught:
        asked()
    assert caught.value.argument == argument


def test_a_guide_of_many_checks_asks_more_of_each_and_never_less_than_the_least():
    assert content_for(1) == LEAST_CONTENT == content_for(2)
    assert content_for(40) == pytest.approx(THROUGH ** (1 / 40)) and content_for(40) ** 40 == pytest.approx(THROUGH)
    assert content_for(1, 0.99) == 0.99


def test_other_checks_lend_their_variance_by_their_degrees_of_freedom():
    own, other = Scatter(5, 100.0, 4.0), SharedScatter(1.0, 12.0)
    half, confidence = half_width(own, 0.95, other)
    pooled = math.sqrt((4 * 4.0 + 12 * 1.0) / 16)
    assert half == pytest.approx(factor(5, 16.0, 0.95) * pooled) and confidence == CONFIDENCE
    assert half_width(own, 0.95, SharedScatter(1.0, 0.0)) == half_width(own, 0.95)
    assert half_width(Scatter(5, 100.0, 0.0, u=3.0), 0.95, other)[0] > factor(5, 16.0, 0.95) * math.sqrt(12 / 16)


def proposal(low, high, n=12, guide=GuideShape.NORMAL):
    return Proposal((low + high) / 2, low, high, n, 0.95, guide=guide)


def test_a_share_of_builds_is_promised_only_where_enough_of_them_show_that_they_scatter_normally():
    assert proposal(1, 2).is_promised
    assert not proposal(1, 2, n=4).is_promised
    assert not any(proposal(1, 2, guide=shape).is_promised for shape in GuideShape if shape != GuideShape.NORMAL)
    assert proposal(1, 2, n=8).content_shown == content_of_range(8, CONFIDENCE)


@pytest.mark.parametrize("sign", [1, -1])
def test_a_band_ends_a_hundredth_before_a_stop_limit(sign):
    wide = Scatter(10, sign * 300.0, 100.0)
    limit = {"stop_above" if sign > 0 else "stop_below": sign * 320.0}
    made = propose(wide, Limits(**limit))
    assert (made.high if sign > 0 else made.low) == pytest.approx(sign * 316.8)
    assert made.limit == ("stop above" if sign > 0 else "stop below")
    assert min(made.low, made.high) < made.figure < max(made.low, made.high)


def test_a_band_ends_a_hundredth_of_its_own_half_before_a_stop_limit_near_nought():
    made = propose(Scatter(10, 0.0, 1.0), Limits(stop_above=2.0, across_zero=True))
    half = half_width(Scatter(10, 0.0, 1.0), LEAST_CONTENT)[0]
    assert half > 2 and made.high == pytest.approx(2.0 - 0.01 * half) and made.low == pytest.approx(-half)


def test_a_band_ends_at_what_a_part_is_rated_for_on_either_side():
    limits = Limits(rated=(312.0, "C1"))
    up, down = propose(Scatter(10, 300.0, 100.0), limits), propose(Scatter(10, -300.0, 100.0), limits)
    assert (up.high, up.limit, up.part) == (312.0, "rating", "C1")
    assert (down.low, down.limit, down.part) == (-312.0, "rating", "C1")


@pytest.mark.parametrize(
    ("scatter", "limits", "reason"),
    [
        (Scatter(10, 311.8, 100.0), Limits(rated=(312.0, "C1")), Reason.BEYOND),
        (Scatter(10, 300.0, 1.0, u=5.0), Limits(stop_above=308.0), Reason.BEYOND),
        (Scatter(10, 5.0, 100.0), Limits(), Reason.ACROSS_ZERO),
        (Scatter(10, -5.0, 100.0), Limits(), Reason.ACROSS_ZERO),
        (Scatter(10, 300.0, 0.0), Limits(), Reason.ALIKE),
        (Scatter(10, 0.0, 0.0), Limits(across_zero=True), Reason.ALIKE),
    ],
)
def test_what_is_no_figure_for_a_guide_is_withheld_with_its_reason(scatter, limits, reason):
    answer = propose(scatter, limits)
    assert isinstance(answer, Withheld) and not answer and answer.reason == reason


def test_four_builds_propose_nothing_and_five_do():
    assert propose(None) is None and propose(Scatter(4, 300.0, 1.0)) is None
    assert propose(Scatter(5, 300.0, 1.0)).n == 5


@pytest.mark.parametrize(
    ("value", "half", "figure"),
    [
        (301.26, 30.0, 302.0),  # in twos: a tenth of the half-width is 3
        (301.26, 10.0, 301.0),
        (301.26, 50.0, 300.0),  # in fives
        (301.26, 20.0, 302.0),
        (0.012347, 0.001, 0.0123),
        (-301.26, 10.0, -301.0),
        (301.26, 0.0, 301.26),
        (0.0, 10.0, 0.0),
    ],
)
def test_a_figure_is_rounded_to_ones_twos_and_fives(value, half, figure):
    assert rounded(value, half) == pytest.approx(figure, abs=1e-12)


def test_a_stray_is_left_out_by_robust_deviations_and_more_of_them_of_few_builds():
    """MAD / 0.6745 of 99, 100, 101 and their like is 1.48: 3.5 (1 + 16/9) of it are 14.4 from the middle of nine."""
    like = [98.0, 99.0, 99.0, 100.0, 100.0, 101.0, 101.0, 102.0]
    reach = OUTLIER * (1 + 16 / 9) / 0.6744897501960817
    assert compute_scatter([*like, 100.0 + reach - 0.1]).n == 9
    assert compute_scatter([*like, 100.0 + reach + 0.1]).n == 8
    assert compute_scatter([*like, 100.0 - reach - 0.1]).n == 8
    assert compute_scatter([*like, 100.0 + reach + 0.1], u=2.0).n == 9  # such a meter cannot tell it apart
    assert compute_scatter([1.0, 2.0, 900.0]).n == 3  # of three nobody is the stray
    assert (
        compute_scatter([5.0, 5.0, 5.0, 7.0]).n == 3 and compute_scatter([5.0]) is None and compute_scatter([]) is None
    )


def test_the_mean_and_the_variance_are_of_the_builds_that_are_left():
    scatter = compute_scatter([9.0, 10.0, 11.0, 10.0, 500.0], u=0.25)
    assert (scatter.n, scatter.centre, scatter.u) == (4, 10.0, 0.25) and scatter.var == pytest.approx(2 / 3)
    assert Scatter(4, 10.0, 0.01, u=0.5).floor == 0.25 and Scatter(4, 10.0, 0.5, u=0.5).floor == 0.5
