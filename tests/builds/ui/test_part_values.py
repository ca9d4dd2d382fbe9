"""A part's value as people write it (common practice); never another value than the one that was typed."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builds.ui.part_values import written_value
from checks.codes import parse_part_value


@pytest.mark.parametrize(
    ("kind", "typed", "written"),
    [
        ("resistor", "1000000", "1 MΩ"),
        ("resistor", "1000000 Ω", "1 MΩ"),
        ("resistor", "1000 kΩ", "1 MΩ"),
        ("resistor", "4700", "4.7 kΩ"),
        ("resistor", "470", "470 Ω"),
        ("resistor", "0,47", "0,47 Ω"),
        ("potentiometer", "500000 ohms", "500 kΩ"),
        ("resistor", "4k7", "4k7"),
        ("resistor", "100 kΩ", "100 kΩ"),
        ("capacitor", "2200 µF", "2200 µF"),
        ("fuse", "1000", "1000"),
    ],
)
def test_a_long_or_bare_number_of_ohms_gets_its_prefix_and_all_else_stays(kind, typed, written):
    assert written_value(kind, typed) == written


@given(st.integers(1, 10**8))
def test_what_is_written_is_what_was_typed(ohms):
    assert parse_part_value(written_value("resistor", str(ohms)), "Ω").number == pytest.approx(ohms, rel=1e-9)
