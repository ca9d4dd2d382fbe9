"""What a builder typed, as every page and paper shows it."""

import pytest

from builds.ui.formatting import format_entry, keep_figures_whole


def test_an_entry_below_zero_shows_a_minus_sign_and_its_unit():
    shown = [format_entry(typed, "V") for typed in ("-33.38", " 12 ", "-OL", "4 mV")]
    assert shown == ["−33.38 V", "12 V", "−OL", "4 mV"]


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("640 V is above the stop limit of 500 V.", "640~V is above the stop limit of 500~V."),
        ("Too low: 4.65 kΩ (2 %).", "Too low: 4.65~kΩ (2~%)."),
        ("At most 3 Valves, 2 wires and 40 mA", "At most 3 Valves, 2 wires and 40~mA"),
        ("Stage 2 Was done", "Stage 2 Was done"),
    ],
)
def test_no_line_break_parts_a_figure_from_its_unit(text, kept):
    assert keep_figures_whole(text) == kept.replace("~", "\xa0")
