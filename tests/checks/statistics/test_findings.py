"""Findings on simulated programmes with known truth, and what they say of few builds."""

import numpy as np
import pytest

from checks.errors import ChecksError
from checks.statistics.findings import KINDS, PRIOR, Evidence, find
from tests.checks.statistics.programmes import Programme

TRIALS = 200
# Goals for 8 and 5 builds, less two standard errors of so few trials.
GOALS = [
    (8, "figure off", 0.97),
    (8, "part batch", 0.97),
    (8, "single builds", 0.97),
    (8, "band too tight", 0.90),
    (5, "figure off", 0.90),
    (5, "part batch", 0.90),
    (5, "single builds", 0.90),
]


def found(programme, kind, n):
    d, right, snags = programme.draw(kind, n)
    return find(Evidence(tuple(d), 0.03, min(right, n), snags))


@pytest.mark.parametrize(("n", "kind", "goal"), GOALS)
def test_the_right_finding_is_made(n, kind, goal):
    programme = Programme(17)
    hits = sum(found(programme, kind, n).kind == kind for _ in range(TRIALS)) / TRIALS
    assert hits >= goal - 2 * np.sqrt(goal * (1 - goal) / TRIALS)


def test_the_probability_shown_is_about_the_share_that_is_right():
    """Programmes drawn as often as the priors have it: said with p, right in about p of the cases."""
    programme = Programme(19)
    kinds = programme.random.choice(KINDS, 700, p=[PRIOR[k] for k in KINDS])
    rows = [(found(programme, kind, 8), kind) for kind in kinds]
    said = [(f.probability, f.kind == kind) for f, kind in rows if f.kind != "not enough"]
    for low, high in ((0.4, 0.8), (0.8, 0.97), (0.97, 1.01)):
        band = [(p, hit) for p, hit in said if low <= p < high]
        if len(band) >= 20:
            given, right = (sum(x) / len(band) for x in zip(*band, strict=True))
            assert given - 0.1 < right < given + 0.22  # rather too careful than too sure


@pytest.mark.parametrize("deviations", [(0.1, 5.0, 5.2), (0.0, -3.0, -3.4), (0.1, 2.0, 9.0), (-0.2, 1.2, 1.4)])
def test_two_wrong_builds_of_three_are_a_hypothesis_and_no_band_too_tight(deviations):
    assert find(Evidence(deviations, 0.03)).kind in ("not enough", "part batch")
    assert find(Evidence((-1.5, 0.1, 1.6, -2.0, 1.8), 0.03)).kind == "band too tight"  # the control


def test_builds_that_miss_on_one_side_show_a_tight_band_only_by_a_spread_of_most_of_them():
    assert find(Evidence((1.3, 1.5, -0.9, 0.8, -0.7, 0.6, -0.5, 1.1), 0.03)).kind == "band too tight"
    assert find(Evidence((0.1, 0.0, 5.0, 0.05, 9.0), 0.03)).kind != "band too tight"


def test_two_builds_settle_nothing():
    assert find(Evidence((0.1, 3.0))).kind == "not enough"


def test_a_finding_carries_what_else_it_could_be():
    f = find(Evidence((0.9, 1.1, 1.0, 1.2, 0.95, 1.05)))
    assert f.kind == "figure off"
    assert sum(f.each.values()) == pytest.approx(1.0)
    assert "above the guide's figure" in f.words


def test_a_hundred_builds_are_no_harder_than_ten():
    programme = Programme(20)
    assert found(programme, "figure off", 150).kind == "figure off"
    assert found(programme, "fits", 150).kind == "fits"


def test_one_build_by_itself_is_no_batch():
    assert find(Evidence((0.0, 0.1, -0.1, 0.05, 6.0))).kind == "single builds"


@pytest.mark.parametrize(
    "wrong",
    [lambda: Evidence((float("nan"), 0.0, 0.0)), lambda: Evidence((0.0,), 0.0, 2), lambda: Evidence((0.0,), -1.0)],
)
def test_evidence_that_cannot_be_is_refused(wrong):
    with pytest.raises(ChecksError):
        wrong()
