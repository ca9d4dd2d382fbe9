"""Evidence over builds, sorted."""
import numpy as np
import pytest

from checks.errors import ChecksError
from checks.pooled.meaning import meaning
from checks.pooled.proportions import wilson
from checks.pooled.summary import summarise

RNG = np.random.default_rng(7)


@pytest.mark.parametrize(("deviations", "kind"), [
    (RNG.normal(0, 0.25, 10), "fits"), (RNG.normal(1.8, 0.2, 10), "figure off"), (RNG.normal(-1.8, 0.2, 10), "figure off"),
    ([0.1, -0.2, 0.0, 0.2, -0.1, 6.0, 0.1, 0.0], "single builds"), ([0.1, -0.1, 0.0, 0.2, 2.4, 2.5, 2.3, 2.6], "two groups"),
    (np.linspace(-1.7, 1.7, 12), "band too tight"), ([3.0, 3.1], "not enough")])
def test_kinds_of_trouble(deviations, kind):
    assert meaning(deviations).kind == kind


def test_retakes_that_came_right_point_to_the_step():
    assert meaning([0.1, 0.0, -0.1, 0.2, 0.1, 0.0], retaken_right=3).kind == "step unclear"


def test_an_impossible_share_is_refused():
    with pytest.raises(ChecksError):
        wilson(5, 3)


def test_over_range_readings_are_not_averaged():
    with pytest.raises(ChecksError):
        summarise([1.0, float("inf")])
    assert summarise([], over=2).n == 2
