"""What is typed beside a unit button, and slips of a thousand."""

from dataclasses import replace

import pytest

from checks.band import Band
from checks.entry import (
    choose_unit,
    in_unit,
    kilohm_slip,
    parse_reading,
    refuse_more_than_shown,
    thousand_slip,
    unit_for,
    with_unit,
)
from checks.errors import ChecksError
from checks.outcomes import Outcome
from checks.quantity import Quantity, parse_quantity


@pytest.mark.parametrize("text", ["99.1", "0,5", " 12 ", "-3.", "−.5", "470"])
def test_a_number_takes_the_unit_that_was_chosen(text):
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


def test_volts_start_in_volts_only_above_the_millivolt_range_of_a_meter():
    assert unit_for(1.0, 2.0, "V") == "" and unit_for(1.0, 2.1, "V") == "V" == unit_for(5.0, 5.0, "V")
    assert unit_for(5.0, 10.0, "Hz") == ""


def refused(ask) -> str:
    with pytest.raises(ChecksError) as caught:
        ask()
    return caught.value.code


def test_a_button_beside_a_unit_that_says_the_same_is_no_quarrel():
    assert choose_unit("300 V", "V", "V", None) == "300 V"
    assert choose_unit("300 V", "", "V", None) == "300 V"
    assert refused(lambda: choose_unit("300 V", "mV", "V", None)) == "units-differ"
    assert choose_unit("300 V", "mV", "V", None, "mV") == "300 V"  # pressed by the page, not by the builder
    assert choose_unit("450 V", "mV", "V", Band(None, 0.4, stop_above=0.42)) == "450 V"  # a stop either way


def test_ohms_below_zero_are_a_reading_but_for_what_leads_can_be():
    assert parse_reading("-1.1", "Ω", "resistance").value == -1.1
    for leads in ("-1.0", "-0.2"):
        assert refused(lambda leads=leads: parse_reading(leads, "Ω", "resistance")) == "negative"


def test_more_volts_than_a_meter_shows_pass_no_check():
    high, below = Band(2000.0, None), Band(None, -2000.0)
    for band, most in ((Band(200.0, None), 1500), (high, 3000), (below, 3000), (None, 1500)):
        refuse_more_than_shown(Quantity(float(most), "V"), band, Outcome.IN_BAND)
        more = Quantity(most + 1.0, "V")
        assert refused(lambda more=more, band=band: refuse_more_than_shown(more, band, Outcome.IN_BAND)) == "size"
        refuse_more_than_shown(more, band, Outcome.OUT_OF_BAND)  # what does not pass is no wrong pass


def test_what_was_meant_is_as_exact_as_what_was_typed():
    ohms = replace(parse_quantity("470.5 MΩ", "Ω"), resolution=None)
    for slip in (kilohm_slip, lambda q: thousand_slip(q, lambda meant: True)):
        assert slip(parse_quantity("470.5 MΩ", "Ω")).resolution == pytest.approx(100.0)
        assert slip(ohms).resolution == 0.0 and slip(ohms).value == pytest.approx(470.5e3)
        assert slip(parse_quantity("60 MΩ", "Ω")) is None
    assert kilohm_slip(parse_quantity("470.5 MV", "V")) is None and kilohm_slip(parse_quantity("OL", "Ω")) is None
