"""The pins of valves: what a base has, what a socket's drawing needs, and what a type's published connections are."""

import json
from functools import cache
from pathlib import Path

# IEC 60067 sheets; the bases a guide may name (loctal is B8G there). UX5, UX6 and UX7 by their usual names.
PINS = {"B9A": 9, "B9A cap": 9, "B7G": 7, "octal": 8, "octal cap": 8, "loctal": 8, "B8A": 8}
PINS |= {"UX4": 4, "UX5": 5, "UX5 cap": 5, "UX6": 6, "UX6 cap": 6, "UX7": 7, "UX7 cap": 7}
CAP = "cap"  # what a top cap is called among the pins


def has_cap(base: str) -> bool:
    """Has a valve with this base a cap on top?"""
    return base.endswith(" cap")


def is_pin_of(base: str, pin: str) -> bool:
    """Is there such a pin, or a top cap, on a valve with this base (one that a guide may name)?"""
    return pin == CAP and has_cap(base) or pin.isdigit() and 1 <= int(pin) <= PINS[base]


def plain_base(base: str) -> str:
    """The socket of a base, whatever is on top of the valve."""
    return base.removesuffix(" cap")


DATA = Path(__file__).with_name("pinouts.json")


@cache
def published_pinout() -> dict:
    """Type -> {"base", "sections": [{electrode: [pins]}], "heater": [pins], "heater_centre": [pins], "source"}."""
    return json.loads(DATA.read_text(encoding="utf-8"))["types"]
