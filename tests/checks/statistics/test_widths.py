"""How wide a proposed band is: by the builds, the guide's other checks and the uncertainty of a reading."""

import math

import pytest

from checks.errors import ChecksError
from checks.statistics.tolerance import (
    Limits,
    Proposal,
    Reason,
    Scatter,
    SharedScatter,
    factor,
    half_width,
    prediction_factor,
    propose,
)


def test_builds_more_alike_than_readings_can_be_scatter_as_readings_do():
    assert Scatter(8, 100.0, 0.04, u=0.5).floor == 0.25
    assert Scatter(8, 100.0, 4.0, u=0.5).floor == 4.0
    assert Scatter(8, 100.0, 0.04, u=3.0).floor == 9.0


def test_two_variances_are_pooled_by_their_degrees_of_freedom():
    """The pooled variance of common textbooks: (Σ νᵢ sᵢ²) / Σ νᵢ."""
    own, shared = Scatter(8, 100.0, 4.0), SharedScatter(1.0, 21.0)
    half, confidence = half_width(own, 0.95, shared)
    assert confidence >= 0.90
    k = half / math.sqrt((7 * 4.0 + 21 * 1.0) / 28)
    assert k >= factor(8, 28.0, 0.95) - 1e-9 and k >= prediction_factor(8, 28.0, 0.95) - 1e-9
    assert k == pytest.approx(max(factor(8, 28.0, 0.95), prediction_factor(8, 28.0, 0.95)))
    assert half_width(own, 0.95, SharedScatter(1.0, 0.0)) == half_width(own, 0.95)


def test_a_mean_of_two_with_one_degree_of_freedom_is_the_least_that_has_a_factor():
    assert factor(2, 1.0) > factor(3, 2.0) > factor(10, 9.0)
    for n, degrees in ((1, 1.0), (2, 0.5)):
        with pytest.raises(ChecksError):
            factor(n, degrees)


@pytest.mark.parametrize(("low", "high", "digits"), [(90.0, 110.0, 3), (99.5, 100.5, 4), (-110.0, -90.0, 3)])
def test_digits_tell_a_tenth_of_the_band_apart(low, high, digits):
    assert Proposal((low + high) / 2, low, high, 8, 0.95).digits == digits


def test_a_band_that_only_touches_zero_is_no_other_polarity():
    builds = Scatter(8, 10.0, 16.0)
    half, _confidence = half_width(builds, 0.95)
    assert half > 10.0
    across = propose(builds)
    assert not across and across.reason == Reason.ACROSS_ZERO
    assert propose(builds, Limits(across_zero=True)).low < 0


@pytest.mark.parametrize(
    ("n", "content", "t"), [(3, 0.95, 4.303), (10, 0.95, 2.262), (10, 0.9, 1.833), (20, 0.99, 2.861)]
)
def test_a_further_build_lies_within_students_t_of_the_mean(n, content, t):
    """t by the tables of common textbooks, for n - 1 degrees of freedom; k = t √(1 + 1/n)."""
    assert prediction_factor(n, n - 1, content) == pytest.approx(t * math.sqrt(1 + 1 / n), rel=3e-4)
