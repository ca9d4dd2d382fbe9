"""What small capacitors bear instead of their value: by the codes of IEC 60062 and what the trade prints."""

from types import SimpleNamespace

import pytest

from builds.bench.unpacking import rating_text
from builds.ui.drawings.printed_codes import printed_codes


def part(value, kind="capacitor", **detail):
    return SimpleNamespace(kind=kind, value=value, tolerance="10%", detail=detail)


@pytest.mark.parametrize(
    ("value", "codes"),
    [
        ("100n", ("104", "0.1")),
        ("0.1 uF", ("104", "100n", "0.1")),
        ("22n", ("223", "0.022")),
        ("4.7 nF", ("472", "4n7", "0.0047")),
        ("470p", ("471",)),
        ("47 pF", ("470",)),  # no more than 47: the third digit counts noughts
        ("2.2 pF", ("229", "2p2")),
        ("1u", ("105", "1")),
        ("0.123 uF", ("123n", "0.123")),  # three digits cannot say it
    ],
)
def test_a_capacitor_is_known_by_its_codes(value, codes):
    assert printed_codes(part(value)) == codes


@pytest.mark.parametrize("one", [part("47u", "electrolytic"), part("4k7", "resistor"), part(""), part("blue")])
def test_what_bears_its_value_or_colours_has_no_codes(one):
    assert printed_codes(one) == ()


def test_the_codes_stand_behind_the_value_and_ratings():
    assert rating_text(part("22n", volts="630 V")) == "22n ±10% 630 V, may be marked 223, 0.022"
    assert "printed" not in rating_text(part("4k7", "resistor"))
