"""Findings over whole guides: the share that is right, and how few are false."""

from collections import Counter

import numpy as np
import pytest

from checks.statistics.findings import FALSE_DISCOVERY_RATE, REPORTED_AT, find, find_many
from tests.checks.statistics.drawn_guides import DrawnGuide

CHECKS = 120


def judged(rows):
    """[(true kind, finding)] of one guide."""
    return [(kind, f) for (kind, _), f in zip(rows, find_many([e for _, e in rows]), strict=True)]


def is_false(kind, finding) -> bool:
    return kind == "fits" and finding.kind not in ("fits", "not enough")


@pytest.mark.slow
@pytest.mark.parametrize(("n", "goal"), [(3, 0.60), (5, 0.88), (8, 0.95)])
def test_findings_are_right_as_often_as_promised(n, goal):
    """Of guides with faults of every kind in a fifth of their checks, and with recorded labels."""
    drawn = DrawnGuide(31)
    rows = [row for _ in range(4) for row in judged(drawn.draw(n, CHECKS, faulty=0.2))]
    assert np.mean([f.kind == kind for kind, f in rows]) >= goal


@pytest.mark.slow
@pytest.mark.parametrize(("n", "goal"), [(3, 0.45), (5, 0.65), (8, 0.80)])
def test_faults_are_found_in_a_guide_that_has_many(n, goal):
    drawn = DrawnGuide(32)
    rows = [row for _ in range(4) for row in judged(drawn.draw(n, CHECKS, faulty=0.5))]
    assert np.mean([f.kind == kind for kind, f in rows if kind != "fits"]) >= goal


@pytest.mark.slow
@pytest.mark.parametrize("n", [3, 4, 5, 6, 7, 8, 9, 12, 30])
@pytest.mark.parametrize("spread", [0.15, 0.3, 0.45])
def test_a_clean_guide_raises_next_to_no_false_finding_at_any_number_of_builds(n, spread):
    """The goal is 0.3 in 120 checks, on average over guides; of three guides no more than two are allowed in all."""
    drawn = DrawnGuide(1000 + n)
    rows = [row for _ in range(3) for row in judged(drawn.draw(n, CHECKS, spread=spread, uneven=0.0))]
    assert sum(is_false(*row) for row in rows) <= 2


@pytest.mark.slow
@pytest.mark.parametrize("n", [5, 12, 30])
def test_builds_with_longer_tails_than_a_normal_distribution_are_not_wrong_builds(n):
    """Student's t of five degrees of freedom, as of measurements pooled from several sources (common practice)."""
    drawn = DrawnGuide(41)
    rows = [row for _ in range(4) for row in judged(drawn.draw(n, CHECKS, spread=0.35, tails=5))]
    assert sum(is_false(*row) for row in rows) <= 4


@pytest.mark.slow
@pytest.mark.parametrize("n", [3, 5, 8])
@pytest.mark.parametrize("faulty", [0.05, 0.25])
def test_the_stated_false_discovery_rate_is_held(n, faulty):
    drawn = DrawnGuide(51)
    rows = [row for _ in range(6) for row in judged(drawn.draw(n, CHECKS, faulty=faulty))]
    reported = [row for row in rows if row[1].kind not in ("fits", "not enough")]
    allowed = FALSE_DISCOVERY_RATE * len(reported)
    assert sum(is_false(*row) for row in reported) <= allowed + 2 * np.sqrt(allowed)
    assert len(reported) >= 10  # the control: something is reported


@pytest.mark.slow
@pytest.mark.parametrize(("n", "faulty", "spread"), [(5, 0.3, 0.2), (5, 0.3, 0.4), (8, 0.3, 0.3), (8, 0.1, 0.4)])
def test_the_probability_given_is_about_the_share_that_is_right(n, faulty, spread):
    """Reliability at several spreads: in no range of probabilities with thirty findings or more is the share that is
    right lower than the mean given by more than 0.1."""
    drawn, rows = DrawnGuide(61), []
    for _ in range(5):
        rows += [
            (max(f.each.values()), kind == max(f.each, key=f.each.get))
            for kind, f in judged(drawn.draw(n, CHECKS, faulty=faulty, spread=spread))
        ]
    for low, high in ((0.0, 0.7), (0.7, 0.9), (0.9, 0.99), (0.99, 1.01)):
        inside = [row for row in rows if low <= row[0] < high]
        if len(inside) >= 30:
            given, right = np.mean(inside, axis=0)
            assert right > given - 0.1


@pytest.mark.lengthy
def test_a_guide_whose_builds_scatter_little_makes_a_small_shift_plain():
    """The same three readings, alone and among a hundred checks whose builds lie within a tenth of a half-band."""
    drawn = DrawnGuide(71)
    odd = drawn.draw(3, 1)[0][1].__class__((0.7, 0.78, 0.74), 0.03)
    close = [e for _, e in drawn.draw(3, 100, spread=0.08)]
    wide = [e for _, e in drawn.draw(3, 100, spread=0.45)]
    alone, among_close, among_wide = find(odd), find_many([*close, odd])[-1], find_many([*wide, odd])[-1]
    assert among_close.each["figure off"] > among_wide.each["figure off"]
    assert among_close.kind == "figure off" and alone.each["figure off"] > among_wide.each["figure off"]


@pytest.mark.lengthy
def test_a_recorded_label_tells_a_batch_of_three_builds_that_nothing_else_does():
    rows = DrawnGuide(81).draw(6, 60, spread=0.2)
    parted = (0.0, 0.1, -0.1, 1.3, 1.4, 1.2)
    label = ("a", "a", "a", "b", "b", "b")
    other = ("a", "b", "a", "b", "a", "b")
    with_label = _with(rows, parted, label)
    assert with_label.kind == "part batch" and with_label.label == "batch:R5"
    without = _with(rows, parted, other)
    assert without.label == "" and without.each["part batch"] < with_label.each["part batch"]


def _with(rows, deviations, groups):
    evidence = type(rows[0][1])
    label = type(rows[0][1].labels[0])
    return find_many([*(e for _, e in rows), evidence(deviations, 0.03, labels=(label("batch:R5", groups),))])[-1]


@pytest.mark.lengthy
def test_what_is_less_likely_than_not_is_no_finding():
    """Every probability reported is REPORTED_AT or more, and some stay below it and are not reported."""
    assert REPORTED_AT == 0.5
    rows = [f for _, f in judged(DrawnGuide(91).draw(4, CHECKS, faulty=0.6))]
    assert all(f.probability >= REPORTED_AT for f in rows if f.kind != "not enough")
    unsure = [f for f in rows if f.kind == "not enough"]
    assert any(max(f.each.values()) < REPORTED_AT for f in unsure)


@pytest.mark.lengthy
def test_shares_of_kinds_are_learnt_over_the_guide():
    """A doubtful batch is likelier in a guide that has many."""
    doubtful = (0.0, 0.15, -0.1, 0.1, 0.95, 1.1)
    evidence = DrawnGuide(101).draw(6, 1, labels=False)[0][1].__class__
    batches = [evidence(tuple(d), 0.03) for d in _two_groups(40)]
    clean = [e for _, e in DrawnGuide(102).draw(6, 40, spread=0.2, labels=False)]
    among_batches = find_many([*batches, evidence(doubtful, 0.03)])[-1]
    among_clean = find_many([*clean, evidence(doubtful, 0.03)])[-1]
    assert among_batches.each["part batch"] > among_clean.each["part batch"]


def _two_groups(count):
    random = np.random.default_rng(103)
    return np.concatenate((random.normal(0, 0.15, (count, 3)), random.normal(1.4, 0.15, (count, 3))), axis=1)


def test_many_kinds_are_drawn():
    """The control of this module: the drawing draws what it says."""
    counts = Counter(kind for kind, _ in DrawnGuide(111).draw(5, 600, faulty=0.5))
    assert len(counts) == 6 and 240 <= counts["fits"] <= 360
