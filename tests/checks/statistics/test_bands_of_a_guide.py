"""Bands proposed for all checks of a guide: they hold what they say, also where the circuit's spread is wrong, and good
builds pass all of them. Everything is drawn by numpy and judged by scipy's normal distribution."""

import numpy as np
import pytest
from scipy.special import ndtr

from checks.statistics.shared_scatter import FEWEST_CHECKS, learn_ratio
from checks.statistics.tolerance import Scatter, compute_scatter, content_for, half_width

CHECKS, GUIDES = 40, 10


def bands(random, n, *, circuit, uneven=0.3, checks=CHECKS):
    """[(share of good builds inside, confidence said)] of a guide whose circuit gives `circuit` times the spread that
    its builds have, give or take `uneven` (as a logarithm)."""
    true = random.uniform(0.5, 4, checks)
    expected = true * circuit * np.exp(uneven * random.normal(size=checks))
    scatters = [compute_scatter(random.normal(100, sd, n)) for sd in true]
    ratio = learn_ratio(list(zip(scatters, expected, strict=True)))
    rows = []
    for scatter, unit, sd in zip(scatters, expected, true, strict=True):
        half, confidence = half_width(scatter, content_for(checks), ratio and ratio.at(unit))
        low, high = scatter.centre - half, scatter.centre + half
        rows.append((float(ndtr((high - 100) / sd) - ndtr((low - 100) / sd)), confidence))
    return rows


@pytest.mark.slow
@pytest.mark.parametrize("n", [5, 8, 12, 30])
@pytest.mark.parametrize("circuit", [1.0, 0.5, 1.5, 2.0])
def test_bands_hold_what_they_say_whatever_the_circuit_says(n, circuit):
    """Said with 90 % (a little more for five builds): held by 88 % to 92 %, plus two standard errors of 400 bands."""
    random = np.random.default_rng(7)
    rows = [row for _ in range(GUIDES) for row in bands(random, n, circuit=circuit)]
    held = np.mean([inside >= content_for(CHECKS) for inside, _ in rows])
    said = np.mean([confidence for _, confidence in rows])
    assert abs(held - said) <= 0.02 + 2 * np.sqrt(0.9 * 0.1 / len(rows))


@pytest.mark.slow
@pytest.mark.parametrize("n", [5, 8, 12, 30])
@pytest.mark.parametrize("circuit", [1.0, 0.5])
def test_good_builds_pass_all_forty_bands(n, circuit):
    """No more than a tenth of good builds lies outside any of 40 bands, on average over guides."""
    random = np.random.default_rng(8)
    through = [np.prod([inside for inside, _ in bands(random, n, circuit=circuit)]) for _ in range(GUIDES)]
    assert np.mean(through) >= 0.90 - 0.02


@pytest.mark.slow
def test_a_wrong_circuit_weighed_as_six_builds_would_hold_much_less():
    """The control: the circuit's half spread taken at its word, as six builds' worth, misses what 90 % is said of."""
    random, held = np.random.default_rng(9), 0
    for _ in range(400):
        scatter = compute_scatter(random.normal(100, 2, 8))
        var = (7 * scatter.var + 6 * 1.0**2) / 13
        half, _ = half_width(Scatter(14, scatter.centre, var), 0.95)
        held += ndtr((scatter.centre + half - 100) / 2) - ndtr((scatter.centre - half - 100) / 2) >= 0.95
    assert held / 400 < 0.75


def test_the_builds_own_ratio_overrules_the_circuits_spread():
    """A circuit with half the spread everywhere: the ratio of variances learnt is four, and the bands are the same."""
    random = np.random.default_rng(10)
    scatters = [compute_scatter(random.normal(100, 2, 12)) for _ in range(60)]
    right, half = learn_ratio([(s, 2.0) for s in scatters]), learn_ratio([(s, 1.0) for s in scatters])
    assert right.scale == pytest.approx(1, abs=0.15) and half.scale == pytest.approx(4 * right.scale)
    assert half.at(1.0).var == pytest.approx(right.at(2.0).var) and half.degrees == pytest.approx(right.degrees)


def test_checks_that_scatter_each_in_its_way_say_little_of_each_other():
    random = np.random.default_rng(11)
    alike = [(compute_scatter(random.normal(0, 1, 10)), 1.0) for _ in range(60)]
    unlike = [(compute_scatter(random.normal(0, np.exp(random.normal()), 10)), 1.0) for _ in range(60)]
    assert learn_ratio(unlike).degrees < 3 < 15 < learn_ratio(alike).degrees


def test_a_guide_of_few_checks_shares_no_scatter():
    rows = [(Scatter(8, 100.0, 4.0), 2.0)] * (FEWEST_CHECKS - 1)
    assert learn_ratio(rows) is None and learn_ratio([*rows, (Scatter(8, 100.0, 4.4), 2.0)]) is not None
    assert learn_ratio([(Scatter(2, 1.0, 1.0), 1.0)] * 20) is None  # two builds have one degree of freedom
