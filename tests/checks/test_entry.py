"""What is typed beside a unit button, and slips of a thousand."""

import pytest

from checks.entry import in_unit, is_bare_number, thousand_slip, unit_for, with_unit
from checks.quantity import parse_quantity


@pytest.mark.parametrize("text", ["99.1", "0,5", " 12 ", "-3.", "−.5", "470"])
def test_a_number_takes_the_unit_that_was_chosen(text):
    assert is_bare_number(text)
    assert parse_quantity(in_unit(text, "kΩ"), "Ω").value == pytest.approx(1000 * parse_quantity(text, "Ω").value)


@pytest.mark.parametrize("text", ["4k7", "99.1 k", "OL", "2M2", "1.2 kΩ", "285 V", "", "-", "nonsense"])
def test_what_says_its_own_unit_or_nothing_is_left_alone(text):
    assert in_unit(text, "MΩ") == text and with_unit(text, "Ω") == text


def test_volts_never_start_in_millivolts():
    """12 V typed as 12 mV would hide a stop; where both units are usual the builder looks at the meter."""
    assert unit_for(285, 335, "V") == "V"
    assert [unit_for(*limits, "V") for limits in ((0.0405, 0.0495), (0.55, 0.75), (1.2, 1.8))] == [""] * 3
    assert [unit_for(*limits, "V") for limits in ((-0.5, 0.3), (-34, -28), (200, None), (None, 0.1))] == [""] * 4


@pytest.mark.parametrize("ohms", [0.5, 12.0, 100e3, 20e6])
def test_no_unit_of_ohms_is_chosen_beforehand(ohms):
    """A 100 Ω resistor in the place of 100 kΩ is one colour ring, and shows the same digits."""
    assert unit_for(0.9 * ohms, 1.1 * ohms, "Ω") == ""


def slip_of(text, unit, low, high):
    return thousand_slip(parse_quantity(text, unit), lambda q: low <= q.value <= high)


def test_what_no_meter_shows_is_asked_about():
    """A hand-held meter ends at some 60 MΩ (common practice)."""
    assert slip_of("100 MΩ", "Ω", 90e3, 110e3).value == pytest.approx(100e3)


@pytest.mark.parametrize(
    ("text", "unit", "low", "high"),
    [
        ("100", "Ω", 90e3, 110e3),  # the wrong resistor
        ("12k", "Ω", 9, 15),  # an open winding
        ("0.310", "V", 285, 335),  # a dead supply
        ("1.8", "V", -0.5, 0.3),  # a leaking coupling capacitor
        ("300", "V", 270, 330),
        ("OL", "V", 270, 330),
    ],
)
def test_a_plausible_fault_is_never_questioned(text, unit, low, high):
    assert slip_of(text, unit, low, high) is None
