"""The order of serial numbers."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.serials import natural


@pytest.mark.parametrize(
    "ordered",
    [
        ["1", "2", "9", "10", "11", "100"],
        ["FW-2", "FW-10", "fw-11", "GX-1"],
        ["A", "A1", "A1b", "A2", "B"],
        ["7", "007b", "8"],
    ],
)
def test_digits_of_a_serial_sort_as_numbers(ordered):
    shuffled = ordered[::-1]
    shuffled.sort(key=natural)
    assert shuffled == ordered
    assert sorted(["10", "9"]) == ["10", "9"]  # the control: as text they do not


@pytest.mark.lengthy
@given(st.text(max_size=12), st.text(max_size=12))
def test_any_two_serials_have_one_order(a, b):
    assert (natural(a) == natural(b)) == (a == b)
    assert (natural(a) < natural(b)) != (natural(b) <= natural(a))
