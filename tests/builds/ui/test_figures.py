"""Figures and sentences of readings in the reader's language."""

import pytest
from django.utils import translation

from builds.review.changes.proof import p_value_text
from builds.review.templatetags.review_text import p_value
from builds.ui.formatting import format_figure, limits_text, listed, number, percent, short_number, signed_number
from builds.ui.messages.derived import derived_text
from builds.ui.messages.errors import MESSAGES, message_for
from builds.ui.messages.mains import hertz_text, line_text
from builds.ui.messages.meter import trim_text
from builds.ui.messages.outcomes import STYLES, outcome_label
from builds.ui.messages.verdicts import finding_text, verdict_text
from checks.band import parse_band
from checks.derived import Derived, Quantity
from checks.entry import parse_reading
from checks.errors import ChecksError
from checks.outcomes import Outcome, Reason
from checks.quantity import parse_quantity
from checks.selfcheck import Trim


@pytest.mark.parametrize(
    ("language", "expected"),
    [("en-gb", ["4.70 kΩ", "−7.30 V", "+1.5", "12.5 %"]), ("de", ["4,70 kΩ", "−7,30 V", "+1,5", "12,5 %"])],
)
def test_figures_have_the_decimal_mark_of_the_language_and_a_true_minus(language, expected):
    with translation.override(language):
        shown = [format_figure(4700, "Ω"), format_figure(-7.3, "V"), signed_number(1.5, 1), percent(0.125, 1)]
    assert shown == expected


def test_what_is_nothing_but_for_rounding_is_nothing():
    assert [format_figure(1e-12, "V"), number(-0.04, 1), signed_number(-0.04, 1)] == ["0 V", "0.0", "0.0"]


@pytest.mark.parametrize("text", ["285,5", "285.5", "0,285 kV"])
def test_a_decimal_comma_is_read_as_a_point_is(text):
    assert parse_quantity(text, "V").value in (285.5, 285.0)


def test_limits_and_lists_are_written_once():
    assert limits_text(270, 330, "V") == "270 V to 330 V"
    assert [limits_text(1e6, None, "Ω"), limits_text(None, 0.5, "Ω"), limits_text(None, None, "V")] == [
        "at least 1.00 MΩ",
        "at most 500 mΩ",
        "",
    ]
    assert [listed(["a"]), listed("abc"), listed("ab", alternatives=True)] == ["a", "a, b and c", "a or b"]


@pytest.mark.parametrize("reason", Reason)
@pytest.mark.parametrize(
    "params", [{"value": 331.0, "limit": 330.0, "u": 1.0}, {"value": None, "limit": None, "u": 0.0}, {}]
)
def test_every_verdict_has_whole_sentences_even_for_old_rows(reason, params):
    for text in (verdict_text(reason.value, params, "V", True), verdict_text(reason.value, params, "V", False)):
        assert text.endswith(".") and "%(" not in text and "None" not in text
    assert verdict_text(reason.value, params, "V").startswith(finding_text(reason.value, params, "V"))


@pytest.mark.parametrize("reason", [r for r in Reason if r.value.startswith("stop")])
def test_a_stop_says_switch_off_and_its_finding_does_not(reason):
    params = {"value": 450.0, "limit": 400.0, "u": 1.0}
    assert "Switch off" in verdict_text(reason.value, params, "V")
    assert "Switch off" not in finding_text(reason.value, params, "V")


def test_a_row_without_a_reason_says_nothing():
    assert verdict_text("", {}, "V") == finding_text("", {}, "V") == ""


def test_every_outcome_has_its_own_symbol_and_name():
    symbols = {STYLES[outcome].symbol for outcome in Outcome}
    assert len(symbols) == len({outcome_label(o) for o in Outcome}) == len(Outcome)


REFUSED = [
    lambda: parse_quantity("", "V"),
    lambda: parse_quantity("abc", "V"),
    lambda: parse_quantity("28 5", "V"),
    lambda: parse_quantity("-", "V"),
    lambda: parse_quantity("1,234", "V"),
    lambda: parse_quantity("3 hp", "V"),
    lambda: parse_quantity("5 V", "Ω"),
    lambda: parse_quantity("1e99", "V"),
    lambda: parse_quantity("5 Ω AC", "Ω"),
    lambda: parse_quantity("300 K", "°C"),
    lambda: parse_reading("1m", "Ω", "resistance"),
    lambda: parse_reading("-OL", "Ω", "resistance"),
    lambda: parse_reading("-5", "V", "ac volts"),
    lambda: parse_reading("5 V AC", "V", "dc volts"),
    lambda: parse_reading("5 V DC", "V", "ac volts"),
    lambda: parse_reading("OL kΩ", "Ω", "isolation"),
    lambda: parse_reading("0R22", "Ω", "resistance"),
    lambda: parse_band(unit="V", low="5 V", high="4 V"),
    lambda: parse_band(unit="V", expected="9 V", low="3 V", high="4 V"),
    lambda: parse_band(unit="V", low="3 V", high="4 V", stop_above="3.5 V"),
    lambda: parse_band(unit="V", low="3 V", high="4 V", stop_below="3.5 V"),
    lambda: parse_band(unit="V", low="3 V"),
    lambda: parse_band(unit="V"),
    lambda: parse_band(unit="V", expected="open"),
    lambda: parse_band(unit="V", band="8%"),
    lambda: parse_band(unit="V", expected="0 V", band="8%"),
    lambda: parse_band(unit="V", at_least="OL"),
]


@pytest.mark.parametrize("call", REFUSED)
def test_what_is_refused_has_a_code_with_a_whole_sentence(call):
    with pytest.raises(ChecksError) as caught:
        call()
    text = message_for(caught.value)
    assert caught.value.code in MESSAGES
    assert text.endswith(".") and "%(" not in text


def test_mains_remarks_have_whole_sentences():
    assert line_text(230, 235) == hertz_text(50, 50) == ""
    assert "197" in line_text(230, 197) and "207" not in line_text(230, 197)
    for text in (line_text(230, 197), line_text(230, 120), hertz_text(50, 60), hertz_text(60, 50)):
        assert text.endswith(".") and "%(" not in text


@pytest.mark.parametrize("trim", Trim)
@pytest.mark.parametrize("off", [0.04, -0.04, None])
def test_every_finding_of_a_meter_check_has_whole_sentences(trim, off):
    params = {"value": 104e3, "true": 100e3, "off": off, "allowed": None if off == 0.04 else 900.0}
    text = trim_text(trim.value, params, "Ω")
    assert text.endswith(".") and "%(" not in text


@pytest.mark.parametrize(
    ("limit", "probability"), [(None, None), (12.0, 0.99), (12.0, 0.01), (12.0, 0.5), (12.0, None)]
)
def test_every_derived_reading_has_whole_sentences(limit, probability):
    row = Derived("V2", Quantity.ANODE_DISSIPATION, 11.0, 0.2, "W", (), limit, probability, "design centre", True, "a")
    text = derived_text(row)
    assert text.endswith(".") and "%(" not in text and "V2" in text


@pytest.mark.parametrize(
    ("write", "english", "german"),
    [
        (lambda: short_number(0.5), "0.5", "0,5"),
        (lambda: short_number(230.0), "230", "230"),
        (lambda: p_value(0.0321), "0.032", "0,032"),
        (lambda: p_value(0.0001), "< 0.001", "< 0,001"),
        (lambda: p_value_text(0.0321), "p = 0.032", "p = 0,032"),
        (lambda: p_value_text(0.0001), "p < 0.001", "p < 0,001"),
    ],
)
def test_plain_numbers_have_the_readers_decimal_mark(write, english, german):
    assert write() == english
    with translation.override("de"):
        assert write() == german


def test_a_sentence_of_an_error_has_the_readers_decimal_mark():
    with translation.override("de"):
        assert "117,5" in MESSAGES["no-tap"]({"supply": 117.5, "taps": [220.0]})
