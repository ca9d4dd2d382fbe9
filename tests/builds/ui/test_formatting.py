"""What a builder typed, as every page and paper shows it."""

from builds.ui.formatting import format_entry


def test_an_entry_below_zero_shows_a_minus_sign_and_its_unit():
    shown = [format_entry(typed, "V") for typed in ("-33.38", " 12 ", "-OL", "4 mV")]
    assert shown == ["−33.38 V", "12 V", "−OL", "4 mV"]
