"""Whether a recorder filtered the hum out of a silence: a filter takes the noise beside a mains line with it, and one
too narrow for that leaves a family of lines without its root.

The noise beside a line is compared with that farther out, at several widths; of noise alone the ratio follows the
F distribution (sums of squared magnitudes), so that the chance of taking it for filtered is known. A notch also has a
form, and how much likelier the noise is with it than without is a sharper test: noise alone makes that ratio t times
at most once in t cases (Markov's inequality). Where no line is left, both mains frequencies are looked at.
"""

import math
from dataclasses import dataclass, field

import numpy as np
from scipy.fft import prev_fast_len
from scipy.special import fdtr

from checks.tone.hum import Hum
from checks.tone.lines import measure_line
from checks.tone.sources import Signal, SignalPlan
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
HALVES = (0.4, 0.8, 1.6, 2.3, 3.2, 6.4)  # hertz beside a notch, at which it takes half of the power
REACH = 3.0  # of these, as far as its form is looked at
DEEPEST = 0.01  # of the noise's power, that is left at its middle
BOTH = (50.0, 60.0)  # hertz of the mains where no line tells it
ABOVE_HUM = 400.0  # hertz of a tone, from which it hides no noise beside lines of hum
CLEAR = 9  # bins of a spectrum, below which no line can be told from direct current


def leaves_hum_clear(plan: SignalPlan) -> bool:
    """Does what was played lie so far from the lines of hum that the noise beside them shows?"""
    return plan.signal is Signal.SILENCE or plan.signal is Signal.TONE and plan.hertz[0] >= ABOVE_HUM


def filtered_line(
    hum: Hum | None, low_band: "LowBand | None", spectrum: Spectrum, channel: int, *, is_silence: bool
) -> float:
    """Hertz of a mains line that the recorder took out; 0 where it shows none. Beside a tone the noise alone tells:
    what an amplifier draws then changes its hum."""
    if not hum or not low_band:
        return 0.0
    root = missing_root(spectrum, hum) if hum.mains and is_silence else 0.0
    return root or low_band.filtered(channel, hum.mains)


@dataclass
class LowBand:
    """The low band of every channel, collected from blocks of shape (samples, channels)."""

    rate: int
    channels: int
    parts: list[np.ndarray] = field(default_factory=list)

    def __post_init__(self):
        self.factor = max(1, round(self.rate / LOW_RATE))
        self.rest = np.zeros((0, self.channels))
        self.mean = np.tile(np.eye(self.channels), (self.factor, 1)) / self.factor  # of samples as they lie in a block

    def add(self, block: np.ndarray) -> None:
        first = -len(self.rest) % self.factor
        if len(block) < first:
            self.rest = np.concatenate([self.rest, block])
            return
        self._take(np.concatenate([self.rest, block[:first]]))
        whole = (len(block) - first) // self.factor * self.factor
        self._take(block[first : first + whole])
        self.rest = block[first + whole :].copy()

    def _take(self, samples: np.ndarray) -> None:
        """As many as some whole means take."""
        self.parts.append(samples.reshape(-1, self.factor * self.channels) @ self.mean)

    def spectrum(self, channel: int) -> tuple[np.ndarray, float]:
        """(squared magnitudes, how many of them lie in one hertz)."""
        samples = np.concatenate(self.parts)[:, channel]
        samples = samples[: prev_fast_len(len(samples), real=True)]
        power = np.abs(np.fft.rfft((samples - samples.mean()) * np.hanning(len(samples)))) ** 2
        return power, len(samples) * self.factor / self.rate

    def filtered(self, channel: int, mains: float) -> float:
        """Hertz of the mains line beside which the noise is gone; 0 where there is none. `mains` is 0 for unknown."""
        power, bins = self.spectrum(channel)
        lines = [base * k for base in ((mains,) if mains else BOTH) for k in MULTIPLES]
        chance = CHANCE / (len(lines) * (len(WIDTHS) + 2 * len(HALVES)))
        for hertz in lines:
            is_quiet = any(_chance(power, bins, hertz, width) < chance for width in WIDTHS)
            if is_quiet or _notch_chance(power, bins, hertz) < chance:
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


def _notch_chance(power: np.ndarray, bins: float, hertz: float) -> float:
    """At most how likely noise alone looks like a notch at a line, with what is left of the line in it or without."""
    own = max(LINE, 3 / bins)
    return min(_chance_of_form(power, bins, hertz, half, within) for half in HALVES for within in (0.0, own))


def _chance_of_form(power: np.ndarray, bins: float, hertz: float, half: float, within: float) -> float:
    """`within` so many hertz of the line nothing is looked at."""
    first, last = (max(1, round((hertz + side * REACH * half) * bins)) for side in (-1, 1))
    at = np.arange(first, last) / bins
    places = [hertz + side * ((REACH + 1) * half + WIDEST / 2) for side in (-1, 1)]
    outer = [_part(power, bins, place - WIDEST / 2, place + WIDEST / 2) for place in places]
    looked = np.abs(at - hertz) >= within
    if looked.sum() < 2 or min(map(len, outer)) < 2 or last > len(power) or places[0] < WIDEST:
        return 1.0
    levels = [math.log(max(float(np.median(part)) / MEDIAN, 1e-300)) for part in outer]
    around = np.exp(np.interp(np.log(at[looked]), np.log(places), levels))  # as a power of frequency
    squares = (at[looked] - hertz) ** 2 + bins**-2  # as wide as a bin shows it
    left = np.maximum(squares / (squares + half**2), DEEPEST)
    likelier = -np.log(left) - power[first:last][looked] / around * (1 / left - 1)
    return math.exp(-max(0.0, float(likelier.sum()) / ALIKE))


def _part(power: np.ndarray, bins: float, one: float, other: float) -> np.ndarray:
    low, high = sorted((one, other))
    return power[max(0, round(low * bins)) : max(0, round(high * bins))]


def missing_root(spectrum: Spectrum, hum: Hum) -> float:
    """Hertz of a mains line that is absent though its next multiples of odd or even order stand there; 0 for none."""
    for root in (1, 2):
        others = [line.rms for line in hum.lines if round(line.hertz / hum.mains) - root in NEXT]
        hertz = root * hum.mains
        can_tell = others and spectrum.find_bin(hertz) >= CLEAR
        if can_tell and measure_line(spectrum, hertz).greatest < ROOT * max(others):
            return hertz
    return 0.0
