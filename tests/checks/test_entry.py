"""What is typed beside a unit button, and slips of a thousand."""

from dataclasses import replace

import pytest

from checks.band import Band
from checks.entry import (
    choose_unit,
    in_unit,
    parse_reading,
    refuse_lone_one,
    refuse_missing_digits,
    refuse_more_than_shown,
    thousand_slip,
    unit_for,
    unit_slips,
    with_unit,
)
from checks.errors import ChecksError
from checks.meter import PRESETS, Measurement
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
    for slip in (lambda q: next(iter(unit_slips(q)), None), lambda q: thousand_slip(q, lambda meant: True)):
        assert slip(parse_quantity("470.5 MΩ", "Ω")).resolution == pytest.approx(100.0)
        assert slip(ohms).resolution == 0.0 and slip(ohms).value == pytest.approx(470.5e3)
        assert slip(parse_quantity("60 MΩ", "Ω")) is None
    assert unit_slips(parse_quantity("470.5 MV", "V")) == () == unit_slips(parse_quantity("OL", "Ω"))
    assert [q.value for q in unit_slips(parse_quantity("470000 MΩ", "Ω"))] == pytest.approx([470e6, 470e3])


def read(text, function="resistance", band=None) -> Quantity:
    unit = {"resistance": "Ω", "frequency": "Hz"}.get(function, "V")
    return parse_reading(text, unit, function, band)


EARTH_BOND, ISOLATION, SUPPLY = Band(None, 0.5), Band(20e6, None), Band(285.0, 315.0, stop_above=350.0)


@pytest.mark.parametrize(
    ("text", "function", "band", "code"),
    [
        ("450 mΩ", "resistance", EARTH_BOND, ""),
        ("100 mΩ", "resistance", EARTH_BOND, ""),
        ("0.45 mΩ", "resistance", EARTH_BOND, "milli"),  # no meter shows it, and 0.45 MΩ is an open bond
        ("450 mohm", "resistance", EARTH_BOND, "milli"),  # it ends in an m
        ("99 mΩ", "resistance", EARTH_BOND, "milli"),  # 99 MΩ: no hand-held meter shows 100
        ("450 m", "resistance", EARTH_BOND, "milli"),
        ("450 mΩ", "resistance", Band(None, 1.0), "milli"),  # a good reading of one ohm is no reading in milliohms
        ("450 mΩ", "resistance", ISOLATION, "milli"),
        ("450 mΩ", "resistance", Band(None, 0.0), "milli"),
        ("450 mΩ", "resistance", None, "milli"),
        ("30 µΩ", "resistance", EARTH_BOND, "size"),
        ("4R7", "resistance", EARTH_BOND, "coded"),
        ("4K7", "resistance", ISOLATION, ""),
        ("OL", "resistance", EARTH_BOND, ""),  # over any range is far too much here
        ("OL kΩ", "resistance", EARTH_BOND, ""),
        ("OL kΩ", "resistance", ISOLATION, "range"),  # and here it is too little to tell
        ("OL kΩ", "resistance", None, "range"),
        ("OL MΩ", "resistance", ISOLATION, ""),
        ("OL", "resistance", ISOLATION, ""),
        ("-OL", "resistance", ISOLATION, "negative"),
        ("-6.3", "ac volts", Band(6.0, 6.6), "negative"),
        ("-OL", "ac volts", Band(6.0, 6.6), "negative"),
        ("-1.5", "dc volts", Band(-2.0, -1.0), ""),
        ("0", "ac volts", Band(6.0, 6.6), ""),
        ("6.3 V DC", "ac volts", Band(6.0, 6.6), "kind"),
        ("6.3 V AC", "ac volts", Band(6.0, 6.6), ""),
        ("300 V AC", "dc volts", SUPPLY, "kind"),
        ("300 V~", "dc volts", SUPPLY, "kind"),
        ("25 K", "dc volts", SUPPLY, "not-shown"),  # 25 kV or 25 V: only one of them is a stop
        ("450 n", "dc volts", SUPPLY, "not-shown"),
        ("400 k", "dc volts", SUPPLY, ""),  # a stop either way
        ("0.3 kV", "dc volts", SUPPLY, ""),
        ("2 kV", "dc volts", Band(285.0, 315.0), "not-shown"),
        ("2 kV", "dc volts", Band(1800.0, 2200.0), ""),  # typed through a divider
        ("300 MV", "dc volts", Band(285.0, 315.0), "not-shown"),
        ("250 µV", "dc volts", Band(-0.3, 0.3), ""),
        ("50 m", "frequency", None, "not-shown"),
        ("50 k", "frequency", None, ""),
    ],
)
def test_each_kind_of_entry_is_read_or_refused_for_its_own_reason(text, function, band, code):
    if code:
        assert refused(lambda: read(text, function, band)) == code
    else:
        assert read(text, function, band)


def test_the_unit_that_was_not_pressed_is_asked_for_only_where_it_decides():
    assert refused(lambda: choose_unit("300", "", "V", None)) == "which-unit"
    assert choose_unit("300", "", "V", None, "V") == "300"
    assert choose_unit("300", "V", "V", None, "mV") == "300"  # what the builder pressed goes before the page's own
    assert choose_unit("300", "mV", "V", None, "V") == "300 mV"
    assert choose_unit("470", "kΩ", "Ω", None) == "470 kΩ"
    assert choose_unit("OL", "MΩ", "Ω", ISOLATION) == "OL MΩ" and choose_unit("OL", "V", "V", SUPPLY) == "OL"
    assert refused(lambda: choose_unit("OL", "", "Ω", ISOLATION)) == "which-unit"
    assert refused(lambda: choose_unit("OL", "", "Ω", None)) == "which-unit"
    assert choose_unit("OL", "", "Ω", EARTH_BOND) == "OL"
    either = Band(None, 0.4, stop_above=0.42)
    assert choose_unit("450", "", "V", either) == "450"  # a stop in either unit, which nothing may delay
    assert refused(lambda: choose_unit("410", "", "V", either)) == "which-unit"  # in millivolts no stop
    assert refused(lambda: choose_unit("450 mV", "V", "V", Band(None, 0.4))) == "units-differ"
    assert refused(lambda: choose_unit("450 V", "mV", "V", Band(None, 0.4, stop_above=0.46))) == "units-differ"
    assert choose_unit("12.3", "", "Hz", None) == "12.3" and choose_unit("12.3", "kΩ", "%", None) == "12.3"


def test_digits_are_asked_for_where_the_last_one_is_worth_more_than_the_band():
    def ask(value, step, band):
        refuse_missing_digits(Measurement(value=value, u=0.0, raw=value, step=step), band)

    narrow = Band(0.45, 0.55)
    assert refused(lambda: ask(0.5, 1.0, narrow)) == "digits"
    ask(0.5, 0.1, narrow)
    ask(2.0, 1.0, narrow)  # out as typed: no digit changes that
    refuse_missing_digits(Measurement(value=None, u=0.0, raw=None, over_range=True), narrow)
    ask(0.5, 1.0, None)
    ask(0.5, 1.0, Band(0.45, None))
    by_size = Band(None, 0.5)  # at most so much, whatever its sign
    assert refused(lambda: ask(0.3, 0.6, by_size)) == "digits"
    ask(0.3, 0.5, by_size)


def test_a_one_alone_passes_nothing_on_a_digital_meter():
    digital, needle = PRESETS["basic"], PRESETS["analogue"]
    one, volts = parse_quantity("1", "Ω"), parse_quantity("1", "V")
    assert (digital.kind, needle.kind) == ("digital", "analogue")
    for quantity, meter, outcome in (
        (one, digital, Outcome.IN_BAND),
        (one, None, Outcome.TOO_CLOSE),
        (volts, digital, None),
    ):
        assert refused(lambda q=quantity, m=meter, o=outcome: refuse_lone_one(q, m, o)) == "lone-one"
    refuse_lone_one(one, needle, Outcome.IN_BAND)
    refuse_lone_one(one, digital, Outcome.OUT_OF_BAND)
    refuse_lone_one(parse_quantity("1", "Hz"), digital, Outcome.IN_BAND)
    refuse_lone_one(parse_quantity("12", "Ω"), digital, Outcome.IN_BAND)


def test_a_unit_goes_before_the_kind_of_the_current():
    assert in_unit("250 AC", "mV") == "250 mV ac" and in_unit("250~", "mV") == "250 mV ac"
    assert in_unit("250", "V") == "250" and in_unit("250", "") == "250"
    assert with_unit("−12,5", "V") == "−12,5 V" and with_unit("1e3", "Ω") == "1e3 Ω" and with_unit("12", "") == "12"
