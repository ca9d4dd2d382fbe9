"""Before and after over revisions that improved, did not change and grew worse: how often each is said, worked out
exactly from the binomial distribution of every outcome (scipy)."""

import pytest
from scipy.stats import binom

from checks.statistics.difference import MATTERS, Change, compare


def chances(before: float, after: float, n: int, m: int) -> dict[Change, float]:
    """Of each verdict on `n` builds before and `m` after, that are right with these probabilities."""
    result = dict.fromkeys(Change, 0.0)
    for x in range(n + 1):
        for y in range(m + 1):
            result[compare(x, n, y, m).verdict] += binom.pmf(x, n, before) * binom.pmf(y, m, after)
    return result


@pytest.mark.parametrize(("n", "m"), [(3, 3), (5, 4), (8, 8), (12, 10)])
@pytest.mark.parametrize("right", [0.1, 0.5, 0.8, 0.95])
def test_a_revision_that_changed_nothing_is_rarely_said_to_have_worked_or_not(n, m, right):
    result = chances(right, right, n, m)
    assert result[Change.BETTER] + result[Change.WORSE] <= 0.05


def test_three_builds_before_and_after_say_nothing_however_they_come_out():
    assert {compare(x, 3, y, 3).verdict for x in range(4) for y in range(4)} == {Change.UNKNOWN}


@pytest.mark.lengthy
def test_a_cure_and_a_blunder_show_at_ten_builds():
    cure, blunder = chances(0.2, 0.95, 10, 10), chances(0.95, 0.2, 10, 10)
    assert cure[Change.BETTER] >= 0.85 and blunder[Change.WORSE] >= 0.85
    assert cure[Change.WORSE] < 1e-6 and blunder[Change.BETTER] < 1e-6


def test_that_little_changed_takes_builds_enough_to_rule_a_difference_out():
    """Equivalence by an interval inside the margin (two one-sided tests, D. J. Schuirmann, J. Pharmacokinet. Biopharm.
    15:657, 1987; from memory)."""
    assert compare(9, 10, 9, 10).verdict == Change.UNKNOWN
    alike = compare(95, 100, 94, 100)
    assert alike.verdict == Change.ALIKE and -MATTERS < alike.low < 0 < alike.high < MATTERS
    assert compare(60, 100, 45, 100).verdict != Change.ALIKE
