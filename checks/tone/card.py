"""The sound card itself: volts of full scale from one reading of a meter, and its own floor from a loop-back."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from checks.derived import Estimate, propagate
from checks.errors import ChecksError
from checks.finite import finite_arguments, finite_figures
from checks.tone.passage import SURE

WORTH = 2.0  # times the floor's power, from which taking it away leaves a figure (3 dB)
SWAMPS = 1 / 3  # of a harmonic, from which the card's own makes it doubtful: the two add by phase, not power


def volts_per_unit(meter: Estimate, tone_rms: float) -> Estimate:
    """Volts of one unit of the samples, from the AC volts a meter showed while a tone of `tone_rms` was recorded.

    Raises ChecksError for a tone or reading that is not above zero.
    """
    if not (math.isfinite(tone_rms) and tone_rms > 0):
        raise ChecksError("The recording holds no tone to calibrate by.", argument="tone_rms", code="no tone")
    if meter.value <= 0:
        raise ChecksError("The reading must lie above zero.", argument="meter", code="above zero", quantity="volts")
    return propagate(lambda volts: volts / tone_rms, meter)


@finite_figures
@dataclass(frozen=True)
class Cleared:
    """A level with the card's floor taken away as power; `is_floor`: too near to it, an upper bound only."""

    rms: float
    is_floor: bool


@finite_arguments
def without_floor(rms: float, floor: float) -> Cleared:
    """Of noise, whose powers add. Raises ChecksError for levels below zero."""
    if rms < 0 or floor < 0:
        raise ChecksError("A level lies at or above zero.", argument="rms", code="level")
    if rms**2 < WORTH * floor**2:
        return Cleared(rms, True)
    return Cleared(math.sqrt(rms**2 - floor**2), False)


@finite_arguments
def is_swamped(rms: float, card: float) -> bool:
    """Whether the card's own harmonic leaves that of the amplifier in doubt."""
    return card > SWAMPS * rms


@finite_arguments
def doubt_of_harmonic(share: float, card: float) -> float:
    """Standard uncertainty in dB of a harmonic, a share of the fundamental, to which the card adds its own: where the
    two lie against each other the amplifier's is their sum, and a figure passes only where it still would."""
    return 20 * math.log10(1 + card / share) / SURE if share > 0 else 0.0


def doubt_of_distortion(card: Mapping[int, float], orders: range) -> float:
    """Standard uncertainty of a distortion, as a share, by the card's own of these orders."""
    return math.sqrt(sum(card.get(order, 0.0) ** 2 for order in orders)) / SURE
