"""The bases a guide may name: pins in order round the socket, a name for each, and caps on top."""

import math

import pytest

from builds.ui.drawings import descriptions
from builds.ui.drawings.socket import BASES, list_pins
from checks.circuit.validation.pins import pin_errors
from checks.circuit.valves.pinouts import PINS, is_pin_of, plain_base
from tests.checks.circuit.kits import parts_of

# Pins of each base: IEC 60067 and, for the UX bases and the loctal, common practice (from memory).
COUNTS = {"B9A": 9, "B7G": 7, "octal": 8, "loctal": 8, "B8A": 8, "UX4": 4, "UX5": 5, "UX6": 6, "UX7": 7}


@pytest.mark.parametrize("name", list(PINS))
def test_each_base_is_drawn_with_its_pins_clockwise_from_below(name):
    pins = list_pins(name)
    assert [pin.number for pin in pins] == [str(n + 1) for n in range(COUNTS[plain_base(name)])]
    angles = [math.degrees(math.atan2(-(pin.x - 80), pin.y - 80)) % 360 for pin in pins]
    assert angles == sorted(angles)  # clockwise on the page from straight down
    assert plain_base(name) in descriptions.BASES and BASES[name].mark in descriptions.MARKS


@pytest.mark.parametrize("name", ["UX4", "UX6", "UX7"])
def test_the_wide_pins_are_the_first_and_the_last(name):
    """Heater pins of the UX4, UX6 and UX7 bases are thicker (common practice)."""
    radii = [pin.radius for pin in list_pins(name)]
    assert radii[0] == radii[-1] > max(radii[1:-1])


def test_a_top_cap_is_named_and_only_where_there_is_one():
    assert "cap on top" in descriptions.describe_socket(BASES["UX5 cap"], "V1", red="cap")
    assert is_pin_of("octal cap", "cap") and not is_pin_of("octal", "cap") and not is_pin_of("UX5 cap", "6")


def beam_valve(base, anode):
    """A transmitting beam tetrode: heater 1 and 5, screen 2, grid 3, cathode 4, anode on top (RCA 807, from memory)."""
    joins = {"anode": "a", "screen": "s", "grid": "g", "cathode": "k", "heater": ["h.a", "h.b"]}
    pins = {"anode": anode, "screen": "2", "grid": "3", "cathode": "4", "heater": ["1", "5"]}
    row = {"ref": "V1", "kind": "pentode", "type": "6L6", "base": base, "joins": joins, "pins": pins}
    return [error.code for error in pin_errors(*parts_of(row))]


def test_an_anode_on_a_top_cap_is_taken_on_a_base_with_one_and_refused_on_others():
    assert beam_valve("UX5 cap", "cap") == []
    assert beam_valve("UX5", "cap") == ["no-such-pin"]
    assert beam_valve("UX5 cap", "6") == ["no-such-pin"]
