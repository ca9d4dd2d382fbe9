"""Findings on checks that have a limit and no figure: builds anywhere on the safe side are right."""

import numpy as np
import pytest

from checks.statistics.findings import Evidence, find

TRIALS = 100


def kinds(draw, n=8, seed=5):
    rng = np.random.default_rng(seed)
    return [find(Evidence(tuple(draw(rng, n)), one_sided=True)).kind for _ in range(TRIALS)]


@pytest.mark.lengthy
@pytest.mark.parametrize("middle", [0.05, 0.4, 0.74, 0.85])
@pytest.mark.parametrize("side", [1, -1])
def test_builds_inside_the_limit_are_left_alone_wherever_they_lie(middle, side):
    def draw(rng, n):
        return side * (middle + 0.2 * (1 - middle) * rng.normal(size=n))

    wrong = sum(kind not in ("fits", "not enough") for kind in kinds(draw))
    assert wrong <= 3


def test_builds_far_inside_and_near_the_limit_are_no_two_batches():
    """A meter that says over range, or 10 MΩ, beside one that says 99 kΩ, against a limit of 80 kΩ."""
    assert find(Evidence((-0.81, -0.8, -0.008, -0.81, -0.79, -0.008, -0.02, -0.8), one_sided=True)).kind in (
        "fits",
        "not enough",
    )


@pytest.mark.lengthy
def test_a_limit_that_all_builds_pass_by_is_off():
    result = kinds(lambda rng, n: 1.4 + 0.1 * rng.normal(size=n))
    assert result.count("figure off") >= 0.95 * TRIALS
    assert find(Evidence((1.3, 1.4, 1.35, 1.42, 1.38), one_sided=True)).one_sided


@pytest.mark.lengthy
def test_one_build_past_the_limit_is_that_build():
    def draw(rng, n):
        d = 0.5 + 0.1 * rng.normal(size=n)
        d[0] = 4.0
        return d

    assert kinds(draw).count("single builds") >= 0.95 * TRIALS


def test_without_saying_so_the_same_readings_are_taken_as_off_the_figure():
    """The control: it is the one limit that makes the difference."""
    d = (0.74, 0.75, 0.73, 0.74, 0.76, 0.74)
    assert find(Evidence(d)).kind == "figure off" and find(Evidence(d, one_sided=True)).kind == "fits"
