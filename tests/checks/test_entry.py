"""What is typed beside a unit button, and slips of a thousand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.entry import in_unit, is_bare, needs_unit, thousand_slip, unit_for, with_unit
from checks.quantity import format_quantity, parse_quantity


@pytest.mark.parametrize("text", ["99.1", "0,5", " 12 ", "-3.", "−.5", "470"])
def test_a_number_takes_the_unit_that_was_chosen(text):
    assert is_bare(text)
    assert parse_quantity(in_unit(text, "kΩ"), "Ω").value == pytest.approx(1000 * parse_quantity(text, "Ω").value)


@pytest.mark.parametrize("text", ["4k7", "99.1 k", "OL", "2M2", "1.2 kΩ", "285 V", "", "-", "nonsense"])
def test_what_says_its_own_unit_or_nothing_is_left_alone(text):
    assert in_unit(text, "MΩ") == text and with_unit(text, "Ω") == text
    assert not needs_unit(text)


def test_nothing_is_nothing_in_any_unit():
    assert not needs_unit("0.00") and needs_unit("0.01")


@given(st.floats(1, 9.99e8).map(lambda x: float(f"{x:.3g}")))
def test_the_unit_chosen_beforehand_is_the_one_a_meter_shows(ohms):
    unit = unit_for(0.95 * ohms, 1.05 * ohms, ohms, "Ω")
    number = format_quantity(ohms, "Ω").split()[0]
    assert unit in ("Ω", "kΩ", "MΩ")
    assert parse_quantity(in_unit(number, unit), "Ω").value == pytest.approx(ohms, rel=1e-2)


@pytest.mark.parametrize(("low", "high"), [(100e3, None), (None, 1.0), (0.0, 2.0), (10e3, 100e3)])
def test_no_unit_of_ohms_is_chosen_where_a_wrong_one_could_pass(low, high):
    """150 Ω where at least 100 kΩ is asked is a short; with kΩ chosen beforehand it would pass."""
    assert unit_for(low, high, None, "Ω") == ""


def test_volts_never_start_in_millivolts():
    """12 V typed as 12 mV would hide a stop."""
    assert unit_for(-0.05, 0.05, 0.01, "V") == "V"


def slip_of(text, unit, low, high, stop=float("inf")):
    return thousand_slip(
        parse_quantity(text, unit),
        lambda q: not low <= q.value <= high and q.value <= stop,
        lambda q: low <= q.value <= high,
    )


@pytest.mark.parametrize(
    ("text", "low", "high", "meant"),
    [("99.1", 95e3, 105e3, 99.1e3), ("468", 0.4, 0.5, 0.468), ("0.285", 270, 300, 285.0)],
)
def test_a_thousand_out_is_asked_about(text, low, high, meant):
    assert slip_of(text, "", low, high).value == pytest.approx(meant)


def test_a_stop_a_good_reading_and_a_plain_miss_are_not_asked_about():
    assert slip_of("300000", "V", 270, 330, stop=400) is None
    assert slip_of("300", "V", 270, 330) is None
    assert slip_of("120", "V", 270, 330) is None
    assert slip_of("OL", "V", 270, 330) is None
