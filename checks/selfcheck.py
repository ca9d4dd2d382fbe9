"""Is the builder's meter in trim? It reads a fresh resistor and a fresh battery from the kit, whose values are known.

The piece lies anywhere within its tolerance (rectangular), so a reading e away from the piece's nominal means a meter
error anywhere from e - t to e + t. The share of that range inside the meter's own accuracy statement a is the
probability that the meter keeps its statement. Nothing is said of ranges and functions that were not tried.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

from checks.errors import ChecksError
from checks.meter import MeterSpec, half_width
from checks.quantity import Quantity, Tolerance, format_quantity
from checks.verdict import IN_AT, OUT_AT

KINDS = {"resistance": "Ω", "dc volts": "V"}


class Trim(StrEnum):
    IN_TRIM = "in trim"
    CANT_TELL = "can't tell"
    OUT_OF_TRIM = "out of trim"


@dataclass(frozen=True)
class Piece:
    """A thing of known value: ohms of a resistor or volts of a fresh battery."""

    function: str
    value: float
    tolerance: Tolerance

    def __post_init__(self):
        if self.function not in KINDS:
            raise ChecksError("A self-check reads resistance or DC volts.", argument="function")
        if not 0 < self.value < math.inf:
            raise ChecksError("A self-check piece has a value above zero.", argument="value")


@dataclass(frozen=True)
class SelfCheck:
    """The finding, the probability that the meter keeps its accuracy statement here, its apparent error, and the
    words."""

    trim: Trim
    probability: float
    error: float
    words: str


def self_check(reading: Quantity, piece: Piece, meter: MeterSpec) -> SelfCheck:
    """Judge what the meter shows on a piece. Raises ChecksError for a reading in another unit."""
    unit = KINDS[piece.function]
    if reading.unit not in ("", unit):
        raise ChecksError(f"This reading is in {reading.unit}; {unit} is wanted here.", argument="reading", code="unit")
    if reading.over_range:
        return SelfCheck(
            Trim.OUT_OF_TRIM,
            0.0,
            float("inf"),
            "Over range on a good piece: a broken lead, the wrong range or "
            "function, or a blown fuse in the meter. Mend that before you go on.",
        )
    allowed = half_width(
        reading.value, meter.accuracy_of(piece.function), reading.resolution or 0.0, meter.range_for(reading.value)
    )
    allowed += (reading.resolution or 0.0) / 2
    error = reading.value - piece.value
    p = _inside(error - piece.tolerance.plus * piece.value, error + piece.tolerance.minus * piece.value, allowed)
    trim = Trim.IN_TRIM if p >= IN_AT else Trim.OUT_OF_TRIM if p <= OUT_AT else Trim.CANT_TELL
    return SelfCheck(trim, p, error, _words(trim, reading, piece, allowed, unit))


def _inside(low: float, high: float, allowed: float) -> float:
    """Share of [low, high] within ±allowed; a piece of no tolerance counts as in or out."""
    if high <= low:
        return float(abs(low) <= allowed)
    return max(0.0, min(high, allowed) - max(low, -allowed)) / (high - low)


def _words(trim: Trim, reading: Quantity, piece: Piece, allowed: float, unit: str) -> str:
    shown, true = format_quantity(reading.value, unit, 4), format_quantity(piece.value, unit)
    off = 100 * (reading.value - piece.value) / piece.value
    said = f"{shown} on a piece of {true}: {abs(off):.1f} % {'high' if off > 0 else 'low'}."
    if trim is Trim.IN_TRIM:
        return f"{shown} on a piece of {true}. Your meter reads right here."
    if trim is Trim.CANT_TELL:
        return f"{said} The piece's own tolerance may account for it; your meter may read right or be a little out."
    return (
        f"{said} Your meter's statement allows {format_quantity(allowed, unit, 2)}, and the piece cannot "
        f"make up the rest. "
        "Put in a fresh battery (the meter's own), clean the leads, try again; then use another meter "
        "or tell the designer."
    )
