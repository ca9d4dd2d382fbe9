"""Clean programmes: builds that agree with the guide, as tightly as builds do and as widely as a band lets them."""

import numpy as np
import pytest

from checks.errors import ChecksError
from checks.statistics.findings import Evidence, find
from tests.checks.statistics.programmes import Programme
from tests.slow import slow

CHECKS, PROGRAMMES = 120, 10


def false_findings(draw, n) -> float:
    """Per programme of 120 checks."""
    kinds = [
        find(Evidence(tuple(d), 0.03, min(right, n), snags)).kind
        for d, right, snags in (draw(n) for _ in range(CHECKS * PROGRAMMES))
    ]
    return sum(kind not in ("fits", "not enough") for kind in kinds) / PROGRAMMES


@pytest.mark.lengthy
@pytest.mark.parametrize("n", [3, *slow(4, 5, 8, 12)])
def test_a_clean_programme_of_120_checks_raises_at_most_one_false_finding(n):
    programme = Programme(18)
    assert false_findings(lambda n: programme.draw("fits", n), n) <= 1.0


@pytest.mark.lengthy
@pytest.mark.parametrize(
    ("n", "scatter", "most"), [(3, 0.45, 1.0), *slow((4, 0.45, 1.0), (5, 0.45, 1.0), (12, 0.4, 1.0))]
)
def test_even_where_good_builds_nearly_fill_the_band(n, scatter, most):
    """97.4 % of builds that scatter by 0.45 half-bands are inside. Two standard errors are allowed for."""
    programme = Programme(21)
    result = false_findings(lambda n: programme.wide(scatter, n), n)
    assert result <= most + 2 * np.sqrt(most / PROGRAMMES)


@pytest.mark.parametrize("n", slow(7, 8, 9))
def test_there_is_no_jump_at_eight_builds(n):
    """Wide clean checks one at a time, the hardest there is: once ten false findings in 120 at eight builds."""
    programme = Programme(22)
    assert false_findings(lambda n: programme.wide(0.45, n), n) <= 1.0


def test_a_programme_of_no_such_kind_is_refused():
    with pytest.raises(ChecksError):
        find(Evidence((0.0,), over=-1))
