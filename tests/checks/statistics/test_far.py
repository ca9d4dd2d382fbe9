"""Shifts and batches far beyond the band, builds over range, and builds that went wrong the same way."""

import numpy as np
import pytest

from checks.errors import ChecksError
from checks.statistics.findings import Evidence, find, find_many
from tests.checks.statistics.drawn_guides import DrawnGuide
from tests.slow import slow

TRIALS = 40


def share(kind, draw, seed=6) -> float:
    """Of the checks drawn, among three times as many that fit."""
    rng = np.random.default_rng(seed)
    drawn = [Evidence(tuple(draw(rng)), 0.03) for _ in range(TRIALS)]
    clean = [e for _, e in DrawnGuide(seed).draw(drawn[0].n, 3 * TRIALS, labels=False)]
    return sum(result.kind == kind for result in find_many([*drawn, *clean])[:TRIALS]) / TRIALS


def among_clean(evidence):
    clean = [e for _, e in DrawnGuide(7).draw(max(3, evidence.n), 60, labels=False)]
    return find_many([evidence, *clean])[0]


@pytest.mark.lengthy
@pytest.mark.parametrize("n", [5, 8])
@pytest.mark.parametrize("shift", [1.5, 3, -90, *slow(2, -6, 8, 20)])
@pytest.mark.parametrize("scatter", [0.2, *slow(0.03)])
def test_builds_that_lie_together_are_a_figure_off_however_far(n, shift, scatter):
    assert share("figure off", lambda rng: rng.normal(shift, scatter, n)) >= 0.95


@pytest.mark.lengthy
def test_a_figure_far_off_may_scatter_in_proportion():
    assert share("figure off", lambda rng: rng.normal(8, 0.9, 8)) >= 0.95
    assert share("band too tight", lambda rng: rng.normal(0, 4, 8)) >= 0.95  # the control


@pytest.mark.lengthy
@pytest.mark.parametrize("apart", [1.3, 2, 4, 8, -12, 50])
def test_two_batches_are_two_however_far_apart(apart):
    def draw(rng):
        d = rng.normal(0, 0.2, 8)
        d[: rng.integers(3, 6)] += apart
        return d

    assert share("part batch", draw) >= 0.9


@pytest.mark.lengthy
def test_two_batches_to_either_side_of_the_figure_are_two_as_well():
    """1.3 apart, so that nearly all are inside the band: told of eight builds now and then, of twelve as a rule."""

    def draw(n):
        return lambda rng: np.concatenate((rng.normal(-0.65, 0.2, n // 2), rng.normal(0.65, 0.2, n - n // 2)))

    assert share("part batch", draw(8)) >= 0.3
    assert share("part batch", draw(12)) >= 0.75


@pytest.mark.lengthy
@pytest.mark.parametrize(("n", "wrong"), [(5, 1), (8, 1), (8, 2), (12, 2), (12, 3)])
def test_builds_that_went_wrong_each_in_its_way_are_single_builds(n, wrong):
    def draw(rng):
        d = rng.normal(0, 0.25, n)
        d[:wrong] = rng.choice([-1, 1], wrong) * rng.uniform(3, 10, wrong)
        return d

    assert share("single builds", draw) >= 0.9


@pytest.mark.lengthy
@pytest.mark.parametrize(("n", "value"), [(8, -5), (8, -10), (12, -3), (12, -5)])
def test_two_builds_that_went_wrong_the_same_way_are_no_batch(n, value):
    """As where nothing arrives at a test point: both read 0 V."""
    assert (
        share("single builds", lambda rng: np.concatenate(([value, value + 0.02], rng.normal(0, 0.25, n - 2)))) >= 0.9
    )


@pytest.mark.lengthy
def test_one_wrong_build_of_three_hundred_is_never_missed():
    assert share("single builds", lambda rng: np.concatenate((rng.normal(0, 0.25, 299), [7.0]))) == 1


@pytest.mark.parametrize("side", [1, -1])
def test_all_builds_far_past_a_single_limit_have_a_limit_that_is_off(side):
    assert find(Evidence(tuple(side * d for d in (50.0, 50.2, 49.0, 51.0)), one_sided=True)).kind == "figure off"


@pytest.mark.parametrize("n", [5, 6, 12])
@pytest.mark.parametrize("one_sided", [False, True])
def test_builds_all_over_range_are_a_figure_off(n, one_sided):
    hits = find(Evidence((), over=n, one_sided=one_sided))
    assert (hits.kind, hits.shift, hits.over, hits.n) == ("figure off", 1.0, n, n)


@pytest.mark.lengthy
def test_one_build_over_range_is_that_build_and_half_of_them_are_a_batch():
    good = (0.0, 0.1, -0.1, 0.2, 0.05)
    assert among_clean(Evidence(good, over=1)).kind == "single builds"
    assert among_clean(Evidence(good, over=5)).kind == "part batch"
    assert find(Evidence(good)).kind == "fits"


def test_over_range_is_no_number():
    """Over range with the others past the limit goes with them, wherever that is: as the number 99 it would not."""
    lying = (2.0, 2.2, 2.1, 1.9, 2.05)
    assert find(Evidence(lying, over=3)).kind == "figure off"
    assert find(Evidence((*lying, 99.0, 99.0, 99.0))).kind != "figure off"


def test_builds_over_range_count_as_builds():
    assert find(Evidence((0.1, 0.0), over=1)).each and not find(Evidence((0.1,), over=1)).each
    assert find(Evidence((0.1,), came_right=2, over=2)).kind
    with pytest.raises(ChecksError):
        Evidence((0.1,), came_right=4, over=2)
