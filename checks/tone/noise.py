"""Noise over a band: unweighted and A-weighted, without the tones, the hum counted or left out."""

import math
from dataclasses import dataclass

from checks.finite import refuse_unreal
from checks.tone.harmonics import BAND, band_power, mark_lines
from checks.tone.spectrum import Spectrum
from checks.tone.weighting import a_weighting_power


@dataclass(frozen=True)
class Noise:
    """RMS over a band in the recording's unit; `u` is the standard uncertainty of the levels in dB."""

    unweighted: float
    a_weighted: float
    without_hum: float
    band: tuple[float, float]
    u: float

    def __post_init__(self):
        refuse_unreal(self, "unweighted", "a_weighted", "without_hum", "u", least=0, finite=False)

    def below(self, full_output: float, *, weighted: bool = False) -> float:
        """Signal to noise in dB, for RMS volts at full output."""
        rms = self.a_weighted if weighted else self.unweighted
        return 20 * math.log10(full_output / rms) if rms > 0 and full_output > 0 else math.inf


def measure_noise(spectrum: Spectrum, tones=(), hum_lines=(), band=BAND) -> Noise:
    """Noise from `band`; what lies under the lobes of `tones` (hertz) is taken from beside them."""
    marked = mark_lines(spectrum, list(tones))
    quiet = mark_lines(spectrum, [*tones, *hum_lines])
    band = (band[0], min(band[1], spectrum.rate / 2))
    plain = band_power(spectrum, band, marked)
    weighted = band_power(spectrum, band, marked, a_weighting_power)
    without = band_power(spectrum, band, quiet)
    bins = max(1.0, (band[1] - band[0]) / spectrum.bin_width / spectrum.window.noise_bandwidth)
    u = 10 / math.log(10) / math.sqrt(bins * spectrum.averages)
    return Noise(math.sqrt(plain), math.sqrt(weighted), math.sqrt(without), band, u)
