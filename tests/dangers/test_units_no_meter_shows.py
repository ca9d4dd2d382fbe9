"""A letter that no meter shows beside a figure: “450 n” is no discharged capacitor and “25 K” orders no switch-off.

What hand-held meters show is common practice: volts and millivolts, kilovolts through a probe, hertz up to megahertz.
"""

import pytest

from builds.bench.forms import MadeSafeForm
from checks.band import Band
from checks.entry import parse_reading
from checks.errors import ChecksError

DISCHARGED = Band(None, 10.0)
B_PLUS = Band(285.0, 335.0, stop_above=400.0)


def code_of(typed, function="dc volts", band=B_PLUS, unit="V"):
    try:
        parse_reading(typed, unit, function, band)
    except ChecksError as error:
        return error.code
    return None


@pytest.mark.parametrize("typed", ["450 n", "450 nV", "450 p", "450 u", "0.005 K", "-450 n", "4n5"])
@pytest.mark.parametrize("function", ["dc volts", "current"])
def test_a_live_capacitor_is_not_typed_away_by_a_letter(typed, function):
    assert code_of(typed, function, DISCHARGED) == "not-shown"


@pytest.mark.parametrize("typed", ["25 K", "25k", "25 kV", "300 K", "250 MV", "1 G", "-25 K", "4k7"])
def test_a_letter_alone_orders_no_switch_off(typed):
    assert code_of(typed) == "not-shown"


@pytest.mark.parametrize("typed", ["450 K", "450 kV", "450 M", "-450 k"])
def test_what_is_past_the_stop_with_the_letter_and_without_is_not_questioned(typed):
    assert B_PLUS.stops(parse_reading(typed, "V", "dc volts", B_PLUS).number)


@pytest.mark.parametrize("typed", ["0.310 kV", "0.310 KV", "310 V", "310 mV", "310 µV", "-310 V", "310"])
def test_units_that_meters_do_show_are_read(typed):
    assert code_of(typed) is None


def test_kilovolts_are_read_where_the_guide_wants_them():
    assert code_of("2.4 kV", band=Band(2000.0, 2600.0)) is None
    assert code_of("24 kV", band=Band(2000.0, 2600.0)) == "not-shown"


@pytest.mark.parametrize("typed", ["50 m", "50 mHz", "50 u"])
def test_fifty_hertz_are_no_millihertz(typed):
    assert code_of(typed, "frequency", Band(None, 60.0), "Hz") == "not-shown"
    assert code_of("0.05 kHz", "frequency", Band(None, 60.0), "Hz") is None


@pytest.mark.parametrize("typed", ["450 n", "0.05 K", "0.000045 M", "450 u", "450 m"])
def test_nothing_is_safe_to_touch_by_such_a_letter(typed):
    assert "typed" in MadeSafeForm({"typed": typed, "entry_key": "5b0d1b3a-6f0e-4e0e-9a37-0a2f3c1c6d11"}).errors


def test_the_sentence_says_what_is_safe_and_orders_nothing():
    form = MadeSafeForm({"typed": "0.05 K", "entry_key": "5b0d1b3a-6f0e-4e0e-9a37-0a2f3c1c6d11"})
    (said,) = form.errors["typed"]
    assert "0.05 K" in said and "Switch off if you are not sure" in said
