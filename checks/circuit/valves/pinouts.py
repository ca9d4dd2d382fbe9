"""The pins of valves: what a base has, what a socket's drawing needs, and what a type's published connections are."""

import json
from functools import cache
from pathlib import Path

from checks.circuit.valves.types import find_type

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
OTHERS = Path(__file__).with_name("other_pinouts.json")


@cache
def published_pinout() -> dict:
    """Type -> {"base", "sections": [{electrode: [pins]}], "heater": [pins], "heater_centre": [pins], "source"}."""
    return json.loads(DATA.read_text(encoding="utf-8"))["types"]


@cache
def other_pinouts() -> dict:
    """Every name of a type in the second book, in capitals -> its pins as in `published_pinout`, and its kind."""
    rows = json.loads(OTHERS.read_text(encoding="utf-8"))["types"]
    return {alias: row | {"name": name} for name, row in rows.items() for alias in row["aka"]}


@cache
def shared_bulbs() -> dict:
    """Every name of a type with a triode and a pentode in one bulb -> {"base", "triode", "pentode", "heater"}."""
    rows = json.loads(OTHERS.read_text(encoding="utf-8"))["shared"]
    return {alias: row for row in rows.values() for alias in row["aka"]}


def is_shared_bulb(type_: str) -> bool:
    """Does a bulb of this type hold a triode and a pentode?"""
    return _plain(type_) in shared_bulbs()


def _plain(type_: str) -> str:
    return type_.strip().upper().replace("-", "")


def find_pinout(type_: str, kind: str = "") -> dict | None:
    """The published pins of a type by any of its names, whether it has a model here or not. Of a bulb that holds two
    systems they are those of the one of this `kind`, None where it is neither."""
    if shared := shared_bulbs().get(_plain(type_)):
        section = {name: [pin] for name, pin in shared.get(kind, {}).items()}
        return {"base": shared["base"], "sections": [section], "heater": shared["heater"]} if section else None
    known = find_type(type_)
    if known and known["name"] in published_pinout():
        return published_pinout()[known["name"]]
    return other_pinouts().get(_plain(type_))
