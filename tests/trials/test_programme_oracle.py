"""The best judge of drawn programmes is one: its probabilities add up, and come true about as often as they say."""

import numpy as np
import pytest

from tests.trials import programme_oracle as best
from tests.trials import programmes as p

pytestmark = pytest.mark.slow  # simulations


def test_each_builds_own_part_is_the_one_that_was_drawn():
    rng = np.random.default_rng(1)
    programme, share, own = best.drawn(rng, 8)
    assert programme == p.draw_programme(np.random.default_rng(1), 8) and 0 <= share <= p.MOST_FINDINGS
    d = np.array([[row[-1] for row in rows] for rows, k in zip(programme.deviations, programme.checks, strict=True)
                  if k.kind == p.CLEAN])  # fmt: skip
    shared = np.mean([abs(np.corrcoef(row, own)[0, 1]) for row in d])
    other = np.mean([abs(np.corrcoef(row, rng.permutation(own))[0, 1]) for row in d])
    assert shared > other + 0.03


def test_its_probabilities_come_true_as_often_as_they_say():
    rows, rng = [], np.random.default_rng(2)
    for _ in range(3):
        programme, share, own = best.drawn(rng, 4)
        for check, each in zip(programme.checks, best.probabilities(programme, share, own), strict=True):
            assert sum(each.values()) == pytest.approx(1)
            likeliest = max(each, key=each.get)
            rows.append((each[likeliest], likeliest == check.kind))
    given, right = np.array([row for row in rows if row[0] < 0.97], dtype=float).T
    assert len(given) > 25 and right.mean() == pytest.approx(given.mean(), abs=0.17)


def test_a_retake_of_something_else_is_a_step_misread():
    rows = ((0.1,), (6.0, 0.2), (0.0,))
    known = (p.Known("check-1", 284.0, 17.0, p.MISREAD),)
    programme = p.Programme(known, ({"batch": "A", "make": "make 1"},) * 3, (rows,))
    assert best.probabilities(programme, 0.1, np.zeros(3))[0][p.MISREAD] == 1.0
