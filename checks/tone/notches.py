"""Whether a recorder filtered the hum out of a silence: a filter takes the noise beside a mains line with it, and one
too narrow for that leaves a family of lines without its root.

The noise beside a line is compared with that farther out, at several widths; of noise alone the ratio follows the
F distribution (sums of squared magnitudes), so that the chance of taking it for filtered is known.
"""

import math
from dataclasses import dataclass, field

import numpy as np
from scipy.special import fdtr

from checks.tone.hum import Hum
from checks.tone.lines import measure_line
from checks.tone.spectrum import Spectrum

LOW_RATE = 1000.0  # samples a second, about, that are kept of the low band
MULTIPLES = (1, 2, 3, 4)  # of the mains, at which a filter is looked for
WIDTHS = (1.0, 2.0, 4.0, 8.0)  # hertz beside a line that a filter may take
LINE = 0.3  # hertz beside a line, or three bins, that are its own: the mains wanders
OUTER = (3.0, 5.0)  # times the width, between which noise is taken for what it was everywhere
WIDEST = 6.0  # hertz that it is taken over at least
MEDIAN = math.log(2)  # of noise's squared magnitude, of its mean (exponential); a foreign line counts little in it
ALIKE = 2.0  # neighbouring bins that a window makes one (Hann: 1.94)
QUIETER = 1 / 3  # of the noise farther out, at most, beside a filtered line
CHANCE = 1e-4  # by which noise alone may look filtered at any line and width
ROOT = 0.1  # of the strongest of its next multiples (-20 dB), that the root of a family has at least
NEXT = (2, 4)  # mains frequencies from a root to those multiples
CLEAR = 9  # bins of a spectrum, below which no line can be told from direct current


@dataclass
class LowBand:
    """The low band of every channel, collected from blocks of shape (samples, channels)."""

    rate: int
    channels: int
    parts: list[np.ndarray] = field(default_factory=list)

    def __post_init__(self):
        self.factor = max(1, round(self.rate / LOW_RATE))
        self.rest = np.zeros((0, self.channels))

    def add(self, block: np.ndarray) -> None:
        joined = np.concatenate([self.rest, block])
        whole = len(joined) // self.factor * self.factor
        self.parts.append(joined[:whole].reshape(-1, self.factor, self.channels).mean(axis=1))
        self.rest = joined[whole:].copy()

    def spectrum(self, channel: int) -> tuple[np.ndarray, float]:
        """(squared magnitudes, how many of them lie in one hertz)."""
        samples = np.concatenate(self.parts)[:, channel]
        power = np.abs(np.fft.rfft((samples - samples.mean()) * np.hanning(len(samples)))) ** 2
        return power, len(samples) * self.factor / self.rate

    def filtered(self, channel: int, mains: float) -> float:
        """Hertz of the mains line beside which the noise is gone; 0 where there is none."""
        power, bins = self.spectrum(channel)
        tests = len(MULTIPLES) * len(WIDTHS)
        for hertz in (mains * k for k in MULTIPLES):
            if any(_chance(power, bins, hertz, width) < CHANCE / tests for width in WIDTHS):
                return hertz
        return 0.0


def _chance(power: np.ndarray, bins: float, hertz: float, width: float) -> float:
    """At most how likely noise alone is so much quieter within a width of a line than beyond it; 1 where it is not."""
    own = max(LINE, 3 / bins)
    inner = np.concatenate([_part(power, bins, hertz + side * own, hertz + side * width) for side in (-1, 1)])
    start, stop = OUTER[0] * width, max(OUTER[1] * width, OUTER[0] * width + WIDEST)
    outer = [_part(power, bins, hertz + side * start, hertz + side * stop) for side in (-1, 1)]
    if len(inner) < 2 or min(map(len, outer)) < 2:
        return 1.0
    around = min(float(np.median(part)) for part in outer) / MEDIAN
    ratio = float(inner.mean()) / max(around, 1e-300)
    free = [2 * count / ALIKE for count in (len(inner), sum(map(len, outer)))]
    return float(fdtr(*free, ratio)) if ratio < QUIETER else 1.0


def _part(power: np.ndarray, bins: float, one: float, other: float) -> np.ndarray:
    low, high = sorted((one, other))
    return power[max(0, round(low * bins)) : max(0, round(high * bins))]


def missing_root(spectrum: Spectrum, hum: Hum) -> float:
    """Hertz of a mains line that is absent though its next multiples of odd or even order stand there; 0 for none."""
    for root in (1, 2):
        others = [line.rms for line in hum.lines if round(line.hertz / hum.mains) - root in NEXT]
        hertz = root * hum.mains
        can_tell = others and spectrum.bin_of(hertz) >= CLEAR
        if can_tell and measure_line(spectrum, hertz).greatest < ROOT * max(others):
            return hertz
    return 0.0
