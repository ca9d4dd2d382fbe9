"""Is the builder's meter in trim? It reads a fresh resistor and a fresh battery from the kit, whose values are known.

The piece lies anywhere within its tolerance (rectangular), so a reading e away from the piece's nominal means a meter
error anywhere from e - t to e + t. The share of that range inside the meter's own accuracy statement a is the
probability that the meter keeps its statement. Nothing is said of ranges and functions that were not tried.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

from checks.errors import CallerError, ChecksError
from checks.finite import refuse_unreal
from checks.meter import MeterSpec, half_width
from checks.quantity import Quantity, Tolerance
from checks.verdict import IN_AT, OUT_AT

KINDS = {"resistance": "Ω", "dc volts": "V"}


class Trim(StrEnum):
    IN_TRIM = "in trim"
    TOO_CLOSE = "can't tell"
    OUT_OF_TRIM = "out of trim"


@dataclass(frozen=True)
class Piece:
    """A thing of known value: ohms of a resistor or volts of a fresh battery."""

    function: str
    value: float
    tolerance: Tolerance

    def __post_init__(self):
        if self.function not in KINDS:
            raise CallerError("A self-check reads resistance or DC volts.", argument="function")
        if not 0 < self.value < math.inf:
            raise CallerError("A self-check piece has a value above zero.", argument="value")


@dataclass(frozen=True)
class SelfCheck:
    """The finding, the probability that the meter keeps its accuracy statement here, its apparent error and the error
    that the statement allows; `value`, `error` and `allowed` are None for over range."""

    trim: Trim
    probability: float
    true: float
    value: float | None = None
    error: float | None = None
    allowed: float | None = None

    def __post_init__(self):
        refuse_unreal(self, "true", "value", "error")
        refuse_unreal(self, "probability", "allowed", least=0)

    @property
    def params(self) -> dict:
        """What the sentence is made from, as a row keeps it."""
        off = None if self.error is None else self.error / self.true
        return {"value": self.value, "true": self.true, "off": off, "allowed": self.allowed}


def self_check(reading: Quantity, piece: Piece, meter: MeterSpec) -> SelfCheck:
    """Judge what the meter shows on a piece. Raises ChecksError for a reading in another unit, with digits left off
    (code "digits") and of a battery the wrong way round (code "swapped")."""
    unit = KINDS[piece.function]
    if reading.unit not in ("", unit):
        raise ChecksError(
            f"This reading is in {reading.unit}; {unit} is wanted here.", argument="reading", code="unit", wanted=unit
        )
    if reading.over_range:
        return SelfCheck(Trim.OUT_OF_TRIM, 0.0, piece.value)
    shown = reading.number
    if shown < 0 and piece.function == "dc volts":
        raise ChecksError("The probes are the wrong way round.", argument="reading", code="swapped")
    _refuse_missing_digits(reading.resolution or 0.0, piece, meter)
    allowed = half_width(shown, meter.find_accuracy(piece.function), reading.resolution or 0.0, meter.range_for(shown))
    allowed += (reading.resolution or 0.0) / 2
    error = shown - piece.value
    p = _inside(error - piece.tolerance.plus * piece.value, error + piece.tolerance.minus * piece.value, allowed)
    trim = Trim.IN_TRIM if p >= IN_AT else Trim.OUT_OF_TRIM if p <= OUT_AT else Trim.TOO_CLOSE
    return SelfCheck(trim, p, piece.value, shown, error, allowed)


def _refuse_missing_digits(resolution: float, piece: Piece, meter: MeterSpec) -> None:
    """Digits left off may not widen what a meter is allowed: its last digits must be worth less than the piece's own
    range, or than the statement's per cent."""
    accuracy = meter.find_accuracy(piece.function)
    digits = (0 if accuracy.full_scale else accuracy.digits) + 0.5
    width = max(piece.tolerance.plus + piece.tolerance.minus, 2 * accuracy.percent / 100) * piece.value
    if digits * resolution > width:
        raise ChecksError("Digits are missing.", argument="reading", code="digits")


def _inside(low: float, high: float, allowed: float) -> float:
    """Share of [low, high] within ±allowed; a piece of no tolerance counts as in or out."""
    if high <= low:
        return float(abs(low) <= allowed)
    return max(0.0, min(high, allowed) - max(low, -allowed)) / (high - low)
