"""Where a recording was cut off above, as lossy files are: an amplifier's noise and response fall gently."""

import numpy as np

from checks.tone.spectrum import Spectrum

LOWEST, HIGHEST = 4000.0, 19_000.0  # hertz between which a cut is looked for: converters' own filters lie above
BESIDE, GAP = 1000.0, 250.0  # hertz on either side whose noise is compared, and between them
STEEP = 20.0  # times in power (13 dB) by which noise falls from one side to the other
OCTAVE = 1 / 8  # over which a response is looked at
CLIFF = 12.0  # dB in it: 96 dB an octave, which is sixteen poles


def cut_of_noise(spectrum: Spectrum) -> float:
    """Hertz above which the noise between the tones is gone; 0 where it falls gently or not at all."""
    width = spectrum.bin_width
    reach = min(HIGHEST, 0.42 * spectrum.rate)
    slices = max(1, round(GAP / width))
    first, last = round(LOWEST / width), round((reach + BESIDE + GAP) / width)
    power = spectrum.power[first : min(last, len(spectrum.power))]
    middles = np.median(power[: len(power) // slices * slices].reshape(-1, slices), axis=1)
    beside = round(BESIDE / GAP)
    if len(middles) < 2 * beside + 1:
        return 0.0
    levels = np.median(np.lib.stride_tricks.sliding_window_view(middles, beside), axis=1)
    falls = levels[: -beside - 1] / np.maximum(levels[beside + 1 :], 1e-300)
    at = int(falls.argmax())
    return LOWEST + (at + beside + 0.5) * slices * width if falls[at] > STEEP else 0.0


def cut_of_response(hertz: np.ndarray, levels: np.ndarray, is_known: np.ndarray, per_octave: int) -> float:
    """Hertz at which a response falls, from a known level, as no amplifier's does; 0 where it does not."""
    apart = max(1, round(OCTAVE * per_octave))
    counts = is_known[:-apart] & (hertz[:-apart] > LOWEST) & (hertz[apart:] <= HIGHEST)
    falls = np.where(counts, levels[:-apart] - levels[apart:], 0.0)
    at = int(falls.argmax())
    return float(hertz[at + apart // 2]) if falls[at] > CLIFF else 0.0
