"""Findings on simulated programmes with known truth, and what they say of few builds."""

import numpy as np
import pytest

from checks.errors import ChecksError
from checks.statistics.evidence import Label
from checks.statistics.findings import Evidence, Kind, find, find_many
from tests.checks.statistics.programmes import Programme

TRIALS, CLEAN = 60, 120
# Goals among clean checks of one guide, without any label recorded.
GOALS = [
    (8, "figure off", 0.97),
    (8, "part batch", 0.80),
    (8, "single builds", 0.97),
    (8, "band too tight", 0.80),
    (5, "figure off", 0.90),
    (5, "part batch", 0.75),
    (5, "single builds", 0.90),
]


def drawn(programme, kind, n):
    d, right, snags = programme.draw(kind, n)
    return Evidence(tuple(d), 0.03, min(right, n), snags)


def found(programme, kind, n):
    return find(drawn(programme, kind, n))


@pytest.mark.lengthy
@pytest.mark.parametrize(("n", "kind", "goal"), GOALS)
def test_builds_with_a_known_cause_get_its_finding(n, kind, goal):
    """Less two standard errors of so few trials."""
    programme = Programme(17)
    faulty = [drawn(programme, kind, n) for _ in range(TRIALS)]
    clean = [drawn(programme, "fits", n) for _ in range(CLEAN)]
    hits = sum(f.kind == kind for f in find_many([*faulty, *clean])[:TRIALS]) / TRIALS
    assert hits >= goal - 2 * np.sqrt(goal * (1 - goal) / TRIALS)


@pytest.mark.lengthy
@pytest.mark.parametrize("scatter", [0.2, 0.29])
def test_two_batches_that_a_label_names_are_told_at_eight_builds(scatter):
    """1.3 half-bands apart, at twice the spread of good builds that once told 76 % of them."""
    random = np.random.default_rng(23)
    clean = [Evidence(tuple(random.normal(0, scatter, 8)), 0.03, labels=_labels(random, 8)) for _ in range(CLEAN)]
    batches = []
    for _ in range(TRIALS):
        labels = _labels(random, 8)
        moved = np.array(labels[0].groups) == "a"
        batches.append(Evidence(tuple(random.normal(0, scatter, 8) + 1.3 * moved), 0.03, labels=labels))
    findings = find_many([*batches, *clean])
    assert sum(f.kind == "part batch" for f in findings[:TRIALS]) / TRIALS >= 0.95
    assert sum(f.label == "batch:R5" for f in findings[:TRIALS]) / TRIALS >= 0.9
    assert sum(f.kind == "part batch" for f in findings[TRIALS:]) <= 1


def _labels(random, n):
    """A batch of three to five builds, and a make that means nothing."""
    first = int(random.integers(3, n - 2))
    batch = tuple(random.permutation(["a"] * first + ["b"] * (n - first)))
    return Label("batch:R5", batch), Label("make:V1", tuple(random.permutation(["x"] * 4 + ["y"] * (n - 4))))


@pytest.mark.parametrize("deviations", [(0.1, 5.0, 5.2), (0.0, -3.0, -3.4), (0.1, 2.0, 9.0), (-0.2, 1.2, 1.4)])
def test_two_wrong_builds_of_three_are_a_hypothesis_and_no_band_too_tight(deviations):
    assert find(Evidence(deviations, 0.03)).kind in ("not enough", "part batch")
    assert find(Evidence((-1.5, 0.1, 1.6, -2.0, 1.8), 0.03)).kind == "band too tight"  # the control


def among_clean(deviations):
    """A finding on a check among sixty that fit."""
    programme = Programme(24)
    clean = [drawn(programme, "fits", len(deviations)) for _ in range(60)]
    return find_many([Evidence(deviations, 0.03), *clean])[0]


@pytest.mark.lengthy
def test_builds_that_miss_on_one_side_show_a_tight_band_only_by_a_spread_of_most_of_them():
    assert among_clean((1.4, 2.0, -0.95, 0.6, -0.7, 0.2, -0.1, 0.9)).kind == "band too tight"
    assert among_clean((0.1, 0.0, 5.0, 0.05, 9.0)).kind != "band too tight"


def test_two_builds_settle_nothing():
    assert find(Evidence((0.1, 3.0))).kind == "not enough"


def test_a_finding_carries_what_else_it_could_be():
    f = find(Evidence((0.9, 1.1, 1.0, 1.2, 0.95, 1.05)))
    assert f.kind == "figure off"
    assert sum(f.each.values()) == pytest.approx(1.0)
    assert f.shift > 0 and (f.n, f.misses) == (6, 3)


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


@pytest.mark.lengthy
def test_builds_that_all_miss_on_one_side_are_no_part_batch():
    """One of nine reads less low than the others, with another meter: neither group is at the guide's figure."""
    off = (-2.71, -1.73, -1.71, -2.14, -1.01, -1.68, -2.36, -1.49, -1.69)
    meters = Label("meter:", ("10 MΩ",) * 4 + ("1 MΩ",) + ("10 MΩ",) * 4)
    good = [Evidence(tuple(0.7 * np.cos(np.arange(9) * 1.7 + k)), 0.1) for k in range(12)]
    low = find_many([Evidence(off, 0.1, labels=(meters,)), *good])[0]
    assert low.kind == Kind.FIGURE_OFF and low.each[Kind.BATCH] < 0.1
    high = find_many([Evidence(tuple(-d for d in off), 0.1, labels=(meters,)), *good])[0]
    assert high.kind == Kind.FIGURE_OFF


@pytest.mark.lengthy
def test_one_meter_that_alone_comes_near_a_wrong_figure_makes_no_batch_of_all_others():
    """Eight builds agree 1.9 half-bands below the figure; the ninth, by its own meter, is 0.8 below it."""
    off = (-1.98, -1.87, -2.11, -1.9, -0.78, -1.78, -1.89, -1.63, -1.95)
    meters = Label("meter:", ("10 MΩ",) * 4 + ("1 MΩ",) + ("10 MΩ",) * 4)
    good = [Evidence(tuple(np.random.default_rng(n).normal(0, 0.08, 9)), 0.1, labels=(meters,)) for n in range(12)]
    found = find_many([Evidence(off, 0.1, labels=(meters,)), *good])[0]
    assert found.kind == Kind.FIGURE_OFF and found.each[Kind.BATCH] < 0.1
    of_two = Label("meter:", ("10 MΩ",) * 3 + ("1 MΩ",) * 2 + ("10 MΩ",) * 4)
    pair = (*off[:3], -0.1, 0.1, *off[5:])
    assert find_many([Evidence(pair, 0.1, labels=(of_two,)), *good])[0].kind == Kind.BATCH


@pytest.mark.lengthy
@pytest.mark.parametrize("side", [1, -1])
def test_of_three_builds_one_that_is_off_is_no_batch_though_a_label_names_it_and_two_alike_are(side):
    """Some label or other parts nearly any one of three builds from the others."""
    reel = Label("batch:R1", ("b", "a", "a"))
    good = [Evidence(tuple(np.random.default_rng(n).normal(0, 0.2, 3)), 0.1, labels=(reel,)) for n in range(40)]
    one, two = (1.5 * side, -0.34 * side, 0.06 * side), (0.14 * side, 2.05 * side, 1.95 * side)
    found = find_many([*(Evidence(d, 0.1, labels=(reel,)) for d in (one, two)), *good])
    assert found[0].kind != Kind.BATCH and found[1].kind == Kind.BATCH
    far = find_many([Evidence((5.0 * side, 0.1, -0.1), 0.1, labels=(reel,)), *good])[0]
    assert far.kind == Kind.SINGLES


@pytest.mark.lengthy
@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("off", [1.4, 1.8, 2.2])
def test_of_five_builds_one_that_is_off_by_its_own_meter_is_no_group(side, off):
    """The meter, the build and its parts are all its own: which of them it was no other build tells."""

    def found(first, second, meters):
        label = Label("meter:", meters)
        good = [Evidence(tuple(np.random.default_rng(n).normal(0, 0.15, 5)), 0.05, labels=(label,)) for n in range(30)]
        checks = [Evidence(tuple(side * x for x in d), 0.05, labels=(label,)) for d in (first, second)]
        return find_many([*checks, *good])[0]

    alone = found((0.3, 0.3, off, -0.3, 0.1), (0.2, 0.25, off - 0.1, -0.2, 0.15), ("a", "a", "b", "a", "a"))
    assert alone.each[Kind.BATCH] < 0.2
    pair = found((0.1, -0.1, off, off + 0.1, 0.05), (0.1, 0.2, off, off - 0.1, -0.1), ("a", "a", "b", "b", "a"))
    assert pair.kind == Kind.BATCH
