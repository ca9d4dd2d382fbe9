"""How many outliers the generalised ESD test looks for, and what it makes of values all alike."""

import pytest

from checks.errors import ChecksError
from checks.statistics.outliers import esd, grubbs_critical, grubbs_statistic

SPREAD = tuple(0.1 * n for n in range(-7, 8))


@pytest.mark.parametrize(("n", "most"), [(5, 1), (9, 1), (10, 2), (14, 2), (15, 3)])
def test_no_more_than_a_fifth_of_the_values_is_looked_at(n, most):
    tested = esd(SPREAD[:n])
    assert len(tested.statistics) == len(tested.critical) == most


def test_of_ten_values_two_may_be_outliers_and_a_third_stays():
    values = (0.0, 0.1, -0.1, 0.05, -0.05, 0.02, -0.02, 50.0, 51.0, 0.01)
    assert sorted(esd(values).positions) == [7, 8]
    three = (0.0, 0.1, -0.1, 0.05, -0.05, 0.02, -0.02, 50.0, 51.0, 52.0)
    assert len(esd(three).positions) <= 2 and len(esd(three, most=3).statistics) == 3


def test_three_values_left_are_enough_for_another_look_and_two_are_not():
    values = (0.0, 1.0, 2.0, 10.0, 30.0)
    assert [len(esd(values, most=most).statistics) for most in (2, 3, 4)] == [2, 3, 3]


def test_the_most_extreme_comes_first():
    assert esd((0.0, 0.1, -0.1, 0.05, -0.05, 0.02, -0.02, 50.0, 90.0, 0.01)).positions == (8, 7)


def test_values_all_alike_have_no_outlier():
    assert esd([5.0] * 10).positions == () == esd([5.0] * 10).statistics


def test_values_as_spread_as_a_ruler_have_no_outlier():
    assert esd(SPREAD).positions == ()


def test_too_few_or_endless_values_are_refused():
    for wrong in ([1.0] * 4, [1.0, 2.0, 3.0, 4.0, float("inf")]):
        with pytest.raises(ChecksError):
            esd(wrong)
    with pytest.raises(ChecksError):
        grubbs_statistic([1.0, 2.0])
    with pytest.raises(ChecksError):
        grubbs_critical(2)


def test_two_sided_limits_are_wider_than_one_sided_ones():
    assert grubbs_critical(8) > grubbs_critical(8, two_sided=False)
