"""Readings as people type them."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.codes import parse_part_value
from checks.errors import ChecksError
from checks.quantity import (
    Quantity,
    Tolerance,
    format_quantity,
    format_typed,
    parse_quantity,
    parse_tolerance,
)

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


@pytest.mark.lengthy
@given(st.integers(-(10**6), 10**6), st.integers(-6, 3), st.sampled_from(["V", "Ω", "A", "%"]))
def test_reading_a_typed_quantity_back_gives_the_same(digits, power, unit):
    first = Quantity(float(f"{digits}e{power}"), unit, 10.0**power)
    again = parse_quantity(format_typed(first), unit)
    assert again.value == pytest.approx(first.value, rel=1e-9, abs=1e-15)


@pytest.mark.lengthy
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


@pytest.mark.parametrize(
    ("text", "value", "digit"),
    [("1\u2009234", 1234.0, 1.0), ("12\u202f345.6", 12345.6, 0.1), ("1\u00a0234\u00a0567", 1234567.0, 1.0)],
)
def test_groups_of_three_digits_are_one_number(text, value, digit):
    """Thin and no-break spaces part groups of three (ISO 80000-1, 7.3.1)."""
    read = parse_quantity(text, "V")
    assert (read.value, read.resolution) == (pytest.approx(value), pytest.approx(digit))


def test_two_numbers_in_groups_are_two_readings_and_not_one():
    with pytest.raises(ChecksError):
        parse_quantity("1\u2009234 5\u2009678", "V")


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("3p3", "F", 3.3e-12),
        ("47 nF", "F", 47e-9),
        ("0.22u", "F", 0.22e-6),
        ("45 mA", "A", 0.045),
        ("0.1k", "V", 100.0),
        ("2M2", "Ω", 2.2e6),
        ("1.5 GΩ", "Ω", 1.5e9),
    ],
)
def test_a_prefix_is_worth_its_power_of_ten(text, unit, value):
    """SI Brochure, 9th edition, table 7."""
    assert parse_quantity(text, unit).value == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize("digit", [-0.1, math.inf, math.nan])
def test_a_last_digit_is_worth_zero_or_more_and_has_an_end(digit):
    with pytest.raises(ChecksError) as caught:
        Quantity(3.0, "V", digit)
    assert caught.value.argument == "resolution"
    assert Quantity(3.0, "V", 0.0).resolution == 0.0


@pytest.mark.parametrize(
    ("text", "below", "power"), [("OL", False, None), ("-OL", True, None), ("OL MΩ", False, 6), ("OL kΩ", False, 3)]
)
def test_over_range_keeps_its_end_and_its_prefix(text, below, power):
    read = parse_quantity(text, "" if "Ω" in text else "V")
    assert (read.is_below, read.power, read.value) == (below, power, None)


def test_only_what_is_over_range_can_be_below_it():
    with pytest.raises(ChecksError) as caught:
        Quantity(3.0, "V", 1.0, is_below=True)
    assert caught.value.argument == "is_below"


@pytest.mark.parametrize(
    ("text", "column", "culprit"),
    [("28;5", 3, ";"), ("2 8 5", 3, "8"), ("x28", 1, "x"), ("6.3.1", 4, "."), ("-", 2, "")],
)
def test_what_cannot_be_read_is_pointed_at(text, column, culprit):
    with pytest.raises(ChecksError) as caught:
        parse_quantity(text, "V")
    assert (caught.value.params["column"], caught.value.params["culprit"]) == (column, culprit)


@pytest.mark.parametrize(("text", "lone"), [("1", True), ("1.", True), ("-1", True), ("1.0", False), ("11", False)])
def test_a_one_and_no_other_digit_is_marked(text, lone):
    """Many meters show a 1 alone when they are over range (common practice)."""
    assert parse_quantity(text, "V").is_lone_one is lone
    assert not parse_quantity("1e0", "V").is_lone_one


@pytest.mark.parametrize("code", [None, math.nan, math.inf])
def test_only_a_finite_number_is_written(code):
    with pytest.raises(ChecksError):
        format_quantity(code, "V")


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (0, "V", "0.00 V"),
        (1000, "V", "1.00 kV"),
        (999.9, "V", "1.00 kV"),
        (-4700, "Ω", "-4.70 kΩ"),
        (12345, "°C", "12300 °C"),
    ]
    + [(1e13, "Ω", "10000 GΩ"), (4.7e-13, "F", "0.47 pF"), (47e-9, "F", "47.0 nF"), (1234, "", "1230")],
)
def test_a_figure_has_one_to_three_digits_before_its_prefix(value, unit, text):
    assert format_quantity(value, unit) == text


@pytest.mark.parametrize("share", [-0.01, math.inf, math.nan])
def test_a_tolerance_is_a_finite_share(share):
    for pair in ((share, 0.1), (0.1, share)):
        with pytest.raises(ChecksError):
            Tolerance(*pair)
    assert Tolerance(0.0, 0.0).plus == 0.0


@pytest.mark.parametrize(("text", "power", "coded"), [("285", None, False), ("285 V", 0, False), ("0.285k", 3, False)])
def test_the_prefix_that_was_typed_is_kept_beside_the_value(text, power, coded):
    read = parse_quantity(text, "V")
    assert (read.power, read.is_coded) == (power, coded)


def test_the_letter_notation_of_parts_is_marked():
    read = parse_quantity("4k7", "Ω")
    assert (read.power, read.is_coded) == (3, True)


@pytest.mark.parametrize(("text", "unit"), [("5 V", "V"), ("5 mA", "A"), ("4k7 ohm", "Ω"), ("5", "")])
def test_where_no_unit_is_wanted_the_typed_one_is_taken(text, unit):
    assert parse_quantity(text).unit == unit


def test_a_unit_without_prefixes_takes_none():
    with pytest.raises(ChecksError) as caught:
        parse_quantity("41 k°C", "°C")
    assert (caught.value.code, caught.value.params["typed"]) == ("prefix", "41 k°C")


@pytest.mark.parametrize(("text", "large"), [("1e16", True), ("-1e16", True), ("1e-19", False), ("1e-25", False)])
def test_what_no_meter_could_show_is_refused_by_its_size(text, large):
    with pytest.raises(ChecksError) as caught:
        parse_quantity(text, "V")
    assert (caught.value.code, caught.value.params["large"]) == ("size", large)
    assert parse_quantity("1e15", "V").value == 1e15 and parse_quantity("0", "V").value == 0


@pytest.mark.parametrize(("text", "unit"), [("7" * 30 + ";;", "V"), ("0" * 27 + "5 A" + " " * 9 + "DC", "V")])
def test_a_long_entry_is_quoted_by_its_first_thirty_characters(text, unit):
    with pytest.raises(ChecksError) as caught:
        parse_quantity(text, unit)
    assert caught.value.params["typed"] == text[:30]


@pytest.mark.parametrize(
    ("typed", "unit", "text"),
    [
        ("OL", "V", "OL"),
        ("0.285 kV", "V", "285 V"),
        ("1200", "V", "1.200 kV"),
        ("12e3", "V", "12 kV"),
        ("1e4", "V", "0.01 MV"),  # one digit was typed, and no more are shown
        ("5e12", "Ω", "5000 GΩ"),
        ("0.012", "V", "12 mV"),
        ("1234", "°C", "1234 °C"),
    ],
)
def test_a_typed_figure_is_written_with_the_digits_it_was_typed_with(typed, unit, text):
    assert format_typed(parse_quantity(typed, unit)) == text


def test_a_figure_without_a_last_digit_is_written_to_whole_units():
    assert format_typed(Quantity(5.0, "V")) == "5 V"


@pytest.mark.parametrize(
    ("text", "unit", "value"), [("5V6", "V", 5.6), ("12V0", "V", 12.0), ("4k7", "Ω", 4700.0), ("75 V", "V", 75.0)]
)
def test_a_parts_value_may_have_its_unit_for_the_point(text, unit, value):
    assert parse_part_value(text, unit).value == pytest.approx(value)


@pytest.mark.parametrize(("text", "unit"), [("5V6", "Ω"), ("5V", "F"), ("V6", "V"), ("5V6V", "V")])
def test_a_unit_for_the_point_is_of_volts_alone(text, unit):
    with pytest.raises(ChecksError):
        parse_part_value(text, unit)


def test_no_reading_is_typed_so():
    with pytest.raises(ChecksError):
        parse_quantity("5V6", "V")
