"""Rows, fields and figures of a guide as a person says them."""

import pytest

from builds.guides.row_labels import field_label, format_figures, limits_text, spaced, value_text


@pytest.mark.parametrize(
    ("figures", "text"),
    [
        ({"expected": "262 V", "band": "6%"}, "262 V ± 6 %"),
        ({"expected": "6.3V", "band": "± 0.3 V"}, "6.3 V ± 0.3 V"),
        ({"expected": "231 V", "low": "218 V", "high": "244 V"}, "231 V, 218 to 244 V"),
        ({"low": "95 Ω", "high": "1.1 kΩ"}, "95 Ω to 1.1 kΩ"),
        ({"at_least": "100 kΩ"}, "at least 100 kΩ"),
        ({"expected": "open", "at_least": "1 MΩ"}, "open, at least 1 MΩ"),
        ({"expected": "model"}, "calculated from the circuit"),
        ({"expected": "model", "band": "8%"}, "calculated from the circuit ± 8 %"),
        ({"expected": "4k7", "low": "4k5", "high": "4k9"}, "4k7, 4k5 to 4k9"),
        ({}, ""),
        ({"low": "3 V"}, "from 3 V"),
    ],
)
def test_a_figure_and_its_band_are_one_phrase(figures, text):
    assert format_figures(figures) == text


def test_the_unit_is_said_once_only_where_it_is_the_same():
    assert limits_text("-500 mV", "300 mV") == "-500 to 300 mV" and limits_text("900 mV", "1.1 V") == "900 mV to 1.1 V"


@pytest.mark.parametrize("left", ["4k7", "0.1u and 6%", "OL", ""])
def test_what_is_no_plain_figure_is_left_alone(left):
    assert spaced(left) == left


def test_values_are_lines_without_marks():
    assert value_text("text", "to **pin 3** of *V2*") == "to pin 3 of V2"
    assert value_text("hint", [{"when": "low", "text": "C9 backwards."}]) == "low: C9 backwards."
    assert (
        value_text("parts", ["R8", "C9"]) == "R8, C9"
        and value_text("gate", True) == "yes"
        and value_text("note", "") == ""
    )
    assert value_text("supply", {"volts": 230}) == "volts 230"
    assert field_label("stop_above") == "stop limit above" and field_label("new_key") == "new key"
