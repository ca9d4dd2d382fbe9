"""Intermodulation of two tones: modulation and difference-frequency distortion by the terms of IEC 60268-3."""

import math
from dataclasses import dataclass

from checks.errors import ChecksError
from checks.finite import finite_arguments
from checks.tone.lines import Line, measure_line
from checks.tone.spectrum import Spectrum


@dataclass(frozen=True)
class Intermodulation:
    """Second and third order products as shares of the upper tone; `lines` maps (m, n) to the tone at m f1 + n f2."""

    low: Line
    high: Line
    second: float
    third: float
    lines: dict[tuple[int, int], Line]

    @property
    def total(self) -> float:
        return math.hypot(self.second, self.third)


@finite_arguments
def measure_intermodulation(spectrum: Spectrum, low: float, high: float) -> Intermodulation:
    """Products of the tones at `low` and `high` hertz. Modulation distortion for tones far apart (sidebands of the
    upper), difference-frequency distortion for near ones. Raises ChecksError when the tones cannot be told apart."""
    if high - low <= 2 * spectrum.half_lobe:
        raise ChecksError("The two tones lie too close together.", argument="high", code="tones too close")
    tones = measure_line(spectrum, low), measure_line(spectrum, high)
    far = high > 4 * low
    second = ((1, 1), (-1, 1)) if far else ((-1, 1),)
    third = ((2, 1), (-2, 1)) if far else ((2, -1), (-1, 2))
    lines = {(m, n): measure_line(spectrum, abs(m * low + n * high)) for m, n in (*second, *third)}
    upper = tones[1].rms if far else tones[0].rms + tones[1].rms
    if upper <= 0:
        raise ChecksError("The upper tone is missing.", argument="high", code="no tone")
    shares = [sum(lines[order].rms for order in orders) / upper for orders in (second, third)]
    return Intermodulation(tones[0], tones[1], shares[0], shares[1], lines)
