"""Whether a recorder cut the low frequencies off a silence, and hum with them: noise falls below the cut as no
amplifier's does, whose couplings and transformer turn it down by a few poles and which the converter's own noise fills
up. A cut of the first order, and one below the noise of a file of 16 bits, cannot be told."""

import math

import numpy as np

from checks.finite import real_arguments

MIDDLE = (200.0, 400.0)  # hertz whose noise is compared with that below
BOTTOM = (5.0, 12.0)  # hertz: above a converter's own coupling, and below any hum
GONE = 31.0  # dB by which noise may be less there: three poles of amplifiers, and some more (common practice)
STEEP = 18.0  # dB an octave: three poles far below their corners, which noise on its way through them never shows
FROM, TO, APART = (
    12.0,
    62.0,
    2 ** (1 / 4),
)  # hertz of the lower edge of bands a third of an octave wide, and their steps
WIDE = 2 ** (1 / 3)
FEWEST = 12  # bins of a band


@real_arguments
def measure_low_cut(power: np.ndarray, bins: float) -> float:
    """dB by which the noise of a low band (its spectrum, with so many bins in a hertz) is cut below; 0 where it is
    not. Lines are few beside a band's bins, so that they count little in its median."""
    fall = _decibels(_level(power, bins, *MIDDLE), _level(power, bins, *BOTTOM))
    steepest = max(_falls(power, bins), default=0.0)
    return max(fall, steepest) if fall > GONE or steepest > STEEP and fall > STEEP else 0.0


def _falls(power: np.ndarray, bins: float):
    """dB an octave, octave by octave."""
    count = round(math.log(TO / FROM) / math.log(APART)) + 1
    for low in (FROM * APART**n for n in range(count)):
        yield _decibels(_level(power, bins, 2 * low, 2 * low * WIDE), _level(power, bins, low, low * WIDE))


def _level(power: np.ndarray, bins: float, low: float, high: float) -> float:
    part = power[round(low * bins) : round(high * bins)]
    return float(np.median(part)) if len(part) >= FEWEST else 0.0


def _decibels(one: float, other: float) -> float:
    """0 where a band has too few bins to tell."""
    return 10 * math.log10(one / other) if one > 0 and other > 0 else 0.0
