"""Readings as people type them."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.errors import ChecksError
from checks.quantity import Quantity, Tolerance, format_quantity, format_typed, parse_quantity, parse_tolerance

CASES = [
    ("285", "V", 285, 1),
    ("285V", "V", 285, 1),
    ("285 V DC", "V", 285, 1),
    ("0.285 kV", "V", 285, 1),
    ("6,3", "V", 6.3, 0.1),
    ("4k7", "Ω", 4700, 100),
    ("4K7", "Ω", 4700, 100),
    ("2M2", "Ω", 2.2e6, 1e5),
    ("R47", "Ω", 0.47, 0.01),
    ("470R", "Ω", 470, 1),
    ("1u5", "F", 1.5e-6, 1e-7),
    ("1µ5", "F", 1.5e-6, 1e-7),
    ("1μ5", "F", 1.5e-6, 1e-7),
    ("-7.3", "V", -7.3, 0.1),
    ("−7.3", "V", -7.3, 0.1),
    ("1.2e3", "V", 1200, 100),
    ("10 MΩ", "Ω", 1e7, 1e6),
    ("4.7 kohm", "Ω", 4700, 100),
    ("470 ohms", "Ω", 470, 1),
    ("45 mA", "A", 0.045, 0.001),
    (" 12.60 ", "V", 12.6, 0.01),
    ("0.285k", "V", 285, 1),
    ("41 °C", "°C", 41, 1),
    ("1 kHz", "Hz", 1000, 1000),
    ("2.2 kΩ", "Ω", 2200, 100),
    ("285VDC", "V", 285, 1),
    ("285 Vdc", "V", 285, 1),
    ("6.3VAC", "V", 6.3, 0.1),
    ("12 mVDC", "V", 0.012, 0.001),
    ("5 dc", "V", 5, 1),
    ("２８５．５", "V", 285.5, 0.1),
    ("٢٨٥", "V", 285, 1),
    ("470Ω", "Ω", 470, 1),
    ("0,285", "V", 0.285, 0.001),
    ("1234,5", "V", 1234.5, 0.1),
]


@pytest.mark.parametrize(("text", "unit", "value", "resolution"), CASES)
def test_what_people_type_is_read(text, unit, value, resolution):
    quantity = parse_quantity(text, unit)
    assert quantity.value == pytest.approx(value, rel=1e-12)
    assert quantity.resolution == pytest.approx(resolution, rel=1e-9)
    assert quantity.unit == unit


def test_what_is_no_reading_at_all_is_not_told_by_its_first_letter():
    with pytest.raises(ChecksError, match="^“nonsense” cannot be read. Type a reading such as 285"):
        parse_quantity("nonsense", "V")


@pytest.mark.parametrize(
    "text",
    [
        "OL",
        "ol",
        "O.L",
        "0L",
        "over",
        "Over range",
        "0.L",
        "OL Ω",
        "O.L MΩ",
        "0L kohm",
        "OLΩ",
        "OLMΩ",
        "-OL",
        "− OL",
        ".OL",
    ],
)
def test_over_range_is_no_number(text):
    quantity = parse_quantity(text, "Ω")
    assert quantity.over_range and quantity.value is None


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "empty"),
        ("  ", "empty"),
        ("abc", "unreadable"),
        ("1,234", "thousands"),
        ("28 5", "unreadable"),
        ("--3", "unreadable"),
        ("3 hp", "unit"),
        ("5 V", "unit"),
        ("1e99", "size"),
        ("1e-40", "size"),
        ("0e-30", "size"),
        ("OL V", "unit"),
        ("OLV", "unit"),
        ("OLE", "unreadable"),
        ("１，２３４", "thousands"),
        ("4k7k", "unit"),
        ("1.2.3", "unreadable"),
        ("12 V AC!", "unreadable"),
    ],
)
def test_the_rest_is_refused_in_a_sentence(text, code):
    with pytest.raises(ChecksError) as caught:
        parse_quantity(text, "Ω")
    assert caught.value.code == code
    assert str(caught.value).endswith(".")


def test_the_refusal_names_the_place():
    with pytest.raises(ChecksError, match="“5” at place 4"):
        parse_quantity("28 5", "V")


@pytest.mark.parametrize(
    ("text", "place"),
    [("4k7 V V", 7), ("12.6 V DCX", 10), ("4k7;", 4), ("6..3", 3), ("285 VRMS", 5), ("4k7 furlong", 5)],
)
def test_the_place_is_the_first_that_stops_a_readable_beginning(text, place):
    with pytest.raises(ChecksError, match=f"at place {place}"):
        parse_quantity(text, "V")


@given(st.floats(-1e6, 1e6, allow_nan=False), st.integers(1, 6), st.sampled_from(["V", "Ω", "A", "Hz"]))
def test_formatting_keeps_the_value(value, digits, unit):
    again = parse_quantity(format_quantity(value, unit, digits), unit).value
    assert again == pytest.approx(float(f"{value:.{digits - 1}e}"), rel=10.0 ** (1 - digits), abs=1e-12)


@given(st.integers(-(10**6), 10**6), st.integers(-6, 3), st.sampled_from(["V", "Ω", "A", "%"]))
def test_reading_a_typed_quantity_back_gives_the_same(digits, power, unit):
    first = Quantity(float(f"{digits}e{power}"), unit, 10.0**power)
    again = parse_quantity(format_typed(first), unit)
    assert again.value == pytest.approx(first.value, rel=1e-9, abs=1e-15)


@given(st.text(max_size=12))
def test_no_text_breaks_the_parser(text):
    try:
        quantity = parse_quantity(text, "V")
    except ChecksError:
        return
    assert quantity.over_range or math.isfinite(quantity.value)


@pytest.mark.parametrize(
    ("text", "minus", "plus"),
    [("5%", 0.05, 0.05), ("±5 %", 0.05, 0.05), ("-20/+50%", 0.2, 0.5), ("J", 0.05, 0.05), ("10", 0.1, 0.1)],
)
def test_tolerances(text, minus, plus):
    tolerance = parse_tolerance(text)
    assert (tolerance.minus, tolerance.plus) == pytest.approx((minus, plus))


def test_a_tolerance_that_is_none_is_refused():
    with pytest.raises(ChecksError, match="not a tolerance"):
        parse_tolerance("a bit")


def test_a_quantity_cannot_be_both_a_number_and_over_range():
    with pytest.raises(ChecksError):
        Quantity(3.0, "V", 1.0, over_range=True)


def test_an_entry_over_range_has_no_number():
    assert parse_quantity("285 V", "V").number == 285.0
    with pytest.raises(ChecksError):
        _ = parse_quantity("OL", "V").number


@pytest.mark.parametrize(
    ("letter", "minus", "plus"),
    [
        ("B", 0.001, 0.001),
        ("C", 0.0025, 0.0025),
        ("D", 0.005, 0.005),
        ("F", 0.01, 0.01),
        ("G", 0.02, 0.02),
        ("J", 0.05, 0.05),
        ("K", 0.1, 0.1),
        ("M", 0.2, 0.2),
        ("Z", 0.2, 0.8),
    ],
)
def test_every_tolerance_letter_is_the_standards(letter, minus, plus):
    """IEC 60062:2016, clause 5."""
    assert parse_tolerance(letter) == Tolerance(minus, plus)
