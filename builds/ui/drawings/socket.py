"""Valve bases seen from below, pins numbered clockwise from the gap, the key or the wide pins (IEC 60067)."""

import math
from dataclasses import dataclass

from checks.circuit.valves.pinouts import PINS
from checks.errors import CallerError

CENTRE, PIN_CIRCLE = 80.0, 50.0


@dataclass(frozen=True)
class Base:
    """`places` spaces round the circle; pins take the first `pins` of them after the gap."""

    name: str
    label: str
    pins: int
    places: int
    mark: str  # "gap", "key", "pip", "wide pins" or "heater pins": what pins are counted from


# IEC 60067 sheets; spacings from memory: B9A nine pins at 36 degrees, B7G seven at 45; octal, loctal (B8G), B8A eight
# at 45 round a key or from a pip. UX5, UX6 and UX7 are drawn with even spaces: their order is right, their angles are
# not all alike.
_ROWS = (
    ("B9A", "noval, nine pins", 10, "gap"),
    ("B7G", "seven pins", 8, "gap"),
    ("octal", "eight pins and a key", 8, "key"),
    ("loctal", "eight thin pins and a key", 8, "key"),
    ("B8A", "eight pins and a pip", 8, "pip"),
    ("UX4", "four pins, two of them wide", 4, "wide pins"),
    ("UX5", "five pins", 5, "heater pins"),
    ("UX6", "six pins, two of them wide", 6, "wide pins"),
    ("UX7", "seven pins, two of them wide", 7, "wide pins"),
)
BASES = {
    name: Base(name, label, PINS[name], places, mark)
    for plain, label, places, mark in _ROWS
    for name in (plain, f"{plain} cap")
    if name in PINS
}


@dataclass(frozen=True)
class Pin:
    number: str
    x: float
    y: float
    label_x: float
    label_y: float
    radius: float


def find_base(name: str) -> Base:
    """Raises CallerError for a base that is not drawn here."""
    if name not in BASES:
        raise CallerError(f"No drawing of the base {name!r}; there are {', '.join(BASES)}.", argument="base")
    return BASES[name]


def list_pins(name: str) -> tuple[Pin, ...]:
    """Places of the pins. The gap (or key) is at the bottom; seen from below, numbers run clockwise from it."""
    base = find_base(name)
    step = 360 / base.places
    # With a gap the first pin is one whole space past its middle; with a key or wide pins it is half a space past.
    first = step if base.mark == "gap" else step / 2
    return tuple(_pin(base, k + 1, first + step * k) for k in range(base.pins))


def _pin(base: Base, number: int, degrees: float) -> Pin:
    # Clockwise on the page from straight down: down, left, up, right.
    angle = math.radians(degrees)
    dx, dy = -math.sin(angle), math.cos(angle)
    wide = base.mark == "wide pins" and number in (1, base.pins)
    return Pin(
        str(number),
        CENTRE + PIN_CIRCLE * dx,
        CENTRE + PIN_CIRCLE * dy,
        CENTRE + 31 * dx,
        CENTRE + 31 * dy,
        8.0 if wide else 6.0,
    )
