"""Where a recording was cut off above, as lossy files are: an amplifier's noise and response fall gently."""

import numpy as np

from checks.tone.lines import LEAK
from checks.tone.spectrum import Spectrum

LOWEST, HIGHEST = 4000.0, 19_400.0  # hertz between which a cut is looked for: a card that converts at 44.1 kHz ends at
TOP = 0.435  # 20 kHz, whatever the rate of the file; and of the sample rate, the same
SHARPEST = 20_400.0  # hertz up to which a step in flat noise is looked for, which no filter of a converter leaves
BESIDE, GAP = 1000.0, 250.0  # hertz on either side whose noise is compared, and between them
STEEP = 20.0  # times in power (13 dB) by which noise falls from one side to the other
EDGE, SIDE = 125.0, 4  # hertz of a slice, and slices on either side of one, that a sharp edge is looked for with
SHARP, FLAT = (
    1.8,
    1.3,
)  # times in power (2.5 dB) that an edge is high at least, and that noise changes beside it at most
FULL = 400  # bins of a slice, over all averages, that make it certain to a tenth
LOW_BAND = (75.0, 4000.0)  # hertz of cuts that are looked for on a logarithmic scale
STEPS = 24  # an octave, of that scale
ASIDE = (2, 14)  # steps on either side whose noise is compared: from 1.06 to 1.5 times
FEWEST = 24  # bins of a side
OCTAVE = 1 / 8  # over which a response is looked at
CLIFF = 12.0  # dB in it: 96 dB an octave, which is sixteen poles
HIGHEST_BESIDE_TONES = HIGHEST_OF_RESPONSE = 19_000.0


def cut_of_noise(spectrum: Spectrum) -> float:
    """Hertz above which the noise between tones is gone; 0 where it falls gently or not at all."""
    return _steepest(spectrum, HIGHEST_BESIDE_TONES)


def cut_of_silence(spectrum: Spectrum) -> float:
    """The same of a recording of noise and hum alone, which shows more."""
    return _steepest(spectrum, HIGHEST) or _edge_above(spectrum) or _cut_below(spectrum)


def _steepest(spectrum: Spectrum, highest: float) -> float:
    """On a linear scale, up to `highest`. A fall that is steepest beyond the converters' own filters is theirs."""
    top = min(highest, TOP * spectrum.rate)
    middles, apart = _slices(spectrum, GAP)
    if highest < HIGHEST:
        middles = middles[: round((top + BESIDE + GAP - LOWEST) / apart)]
    beside = round(BESIDE / GAP)
    if len(middles) < 2 * beside + 1:
        return 0.0
    levels = np.median(np.lib.stride_tricks.sliding_window_view(middles, beside), axis=1)
    falls = levels[: -beside - 1] / np.maximum(levels[beside + 1 :], 1e-300)
    at = int(falls.argmax())
    hertz = LOWEST + (at + beside + 0.5) * apart
    return hertz if falls[at] > STEEP and hertz < top else 0.0


def _edge_above(spectrum: Spectrum) -> float:
    """A step in noise that is flat on both sides: no filter of a converter ends so, and no amplifier."""
    middles, apart = _slices(spectrum, EDGE)
    if EDGE / spectrum.bin_width * spectrum.averages < FULL:
        return 0.0
    top = min(SHARPEST, TOP * spectrum.rate)
    for at in range(2 * SIDE, min(len(middles) - 2 * SIDE - 1, int((top - LOWEST) / apart))):
        before, under, over, after = (
            middles[first : first + SIDE] for first in (at - 2 * SIDE, at - SIDE, at + 1, at + 1 + SIDE)
        )
        is_flat = before.max() < FLAT * under.min() and over.max() < FLAT * after.min()
        if under.min() > SHARP * over.max() and is_flat:
            return LOWEST + (at + 0.5) * apart
    return 0.0


def _slices(spectrum: Spectrum, hertz: float) -> tuple[np.ndarray, float]:
    """The noise from LOWEST upwards, in slices of so many hertz, and how wide they are."""
    count = max(1, round(hertz / spectrum.bin_width))
    power = _heard(spectrum)[round(LOWEST / spectrum.bin_width) :]
    return np.median(power[: len(power) // count * count].reshape(-1, count), axis=1), count * spectrum.bin_width


def _cut_below(spectrum: Spectrum) -> float:
    """On a logarithmic scale: what was rounded about the hum alone, with nothing above it."""
    low, high = LOW_BAND
    power = _heard(spectrum)
    ratio = 2 ** (1 / STEPS)
    for hertz in low * ratio ** np.arange(0, int(np.log2(high / low) * STEPS), 4):
        under = _stretch(power, spectrum, hertz / ratio ** ASIDE[1], hertz / ratio ** ASIDE[0])
        over = _stretch(power, spectrum, hertz * ratio ** ASIDE[0], hertz * ratio ** ASIDE[1])
        if min(len(under), len(over)) >= FEWEST and np.median(under) > STEEP * max(np.median(over), 1e-300):
            return float(hertz)
    return 0.0


def _heard(spectrum: Spectrum) -> np.ndarray:
    """The power spectrum, filled up to what the window may leak from the strongest tone."""
    return np.maximum(spectrum.power, LEAK * float(spectrum.power.max()))


def _stretch(power: np.ndarray, spectrum: Spectrum, low: float, high: float) -> np.ndarray:
    return power[spectrum.find_bin(low) : spectrum.find_bin(high)]


def cut_of_response(hertz: np.ndarray, levels: np.ndarray, is_known: np.ndarray, per_octave: int) -> float:
    """Hertz at which a response falls, from a known level, as no amplifier's does; 0 where it does not."""
    apart = max(1, round(OCTAVE * per_octave))
    counts = is_known[:-apart] & (hertz[:-apart] > LOWEST) & (hertz[apart:] <= HIGHEST_OF_RESPONSE)
    falls = np.where(counts, levels[:-apart] - levels[apart:], 0.0)
    at = int(falls.argmax())
    return float(hertz[at + apart // 2]) if falls[at] > CLIFF else 0.0
