"""The mains family in a recording: which mains, how much of each multiple, and where each is likely to come from.

f points to wiring, heaters and induction, 2f to the reservoir, smoothing and the earth path (common practice).
"""

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from checks.finite import finite_figures
from checks.tone.harmonics import mains_lines, mark_lines
from checks.tone.lines import Line, centroid, exceeds_noise, measure_line
from checks.tone.spectrum import Spectrum

MAINS = (50.0, 60.0)
PULL = 0.01  # share by which the mains may be off its nominal frequency (EN 50160: 1 % for all but hours a year)
ISLAND = 0.03  # the same in silence, where nothing else passes for it: a generator set
BESIDE = 4  # bins about a line in which its top is looked for
FIRST = 6  # multiples, one of which every family shows
PLACES = 1000  # bins, at most, in which a family is looked for
NO_FAMILY = 1e-5  # of recordings of noise alone, that may show one


class Origin(StrEnum):
    """Where a family of lines is likely to come from."""

    NONE = "none"
    INDUCED = "induced"  # odd multiples: heaters, wiring, the transformer's field
    RECTIFIED = "rectified"  # even multiples: reservoir, smoothing, the earth path
    BOTH = "both"


@finite_figures
@dataclass(frozen=True)
class Hum:
    """The mains family of a recording. `mains` is its measured frequency in hertz, 0 where no line is seen."""

    mains: float
    nominal: float
    lines: tuple[Line, ...]
    odd: float  # RMS of the odd multiples
    even: float

    @property
    def total(self) -> float:
        """RMS of all lines seen."""
        return math.hypot(self.odd, self.even)

    @property
    def origin(self) -> Origin:
        if self.total == 0:
            return Origin.NONE
        if self.odd > 2 * self.even:
            return Origin.INDUCED
        return Origin.RECTIFIED if self.even > 2 * self.odd else Origin.BOTH


def measure_hum(spectrum: Spectrum, tones: list[float] | None = None) -> Hum:
    """The mains family, 50 or 60 Hz found by itself; lines under the lobes of `tones` (hertz) are left out."""
    tones = tones or []
    families = [_family(spectrum, nominal, tones) for nominal in MAINS]
    return max(families, key=lambda hum: (sum(line.is_seen for line in hum.lines) >= 1, hum.total))


def _family(spectrum: Spectrum, nominal: float, tones: list[float]) -> Hum:
    mains = _find_mains(spectrum, nominal, tones)
    reach = spectrum.rate / 2 - spectrum.half_lobe
    free = [f for f in mains_lines(mains, reach) if _is_free(spectrum, f, tones)]
    avoid = mark_lines(spectrum, [*free, *tones])
    near = [f for f in free if spectrum.find_bin(f) > 8 and (not tones or _has_its_top_there(spectrum, f, mains))]
    lines = tuple(line for line in (measure_line(spectrum, f, avoid) for f in near) if line.is_seen)
    if all(line.hertz > FIRST * mains for line in lines):
        lines = ()  # a family has a root
    if not tones and not any(exceeds_noise(spectrum, line, NO_FAMILY / PLACES) for line in lines):
        lines = ()  # the strongest of many places in noise
    odd, even = (_rms(line.rms for line in lines if round(line.hertz / mains) % 2 == parity) for parity in (1, 0))
    return Hum(mains if lines else 0.0, nominal, lines, odd, even)


def _rms(values) -> float:
    return math.sqrt(sum(v * v for v in values))


def _is_free(spectrum: Spectrum, hertz: float, tones: list[float]) -> bool:
    return all(abs(hertz - tone) > spectrum.half_lobe for tone in tones)


def _has_its_top_there(spectrum: Spectrum, hertz: float, mains: float) -> bool:
    """Whether the top of what is seen lies there, and not beside it: a distorted tone has aliases near mains lines."""
    centre = spectrum.find_bin(hertz)
    first = max(0, centre - BESIDE)
    top = first + int(np.argmax(spectrum.power[first : centre + BESIDE + 1]))
    return abs(top - hertz / spectrum.bin_width) <= 1.6 + 0.03 * hertz / mains


def _find_mains(spectrum: Spectrum, nominal: float, tones: list[float]) -> float:
    """From the strongest of the first six multiples that lies free of the tones."""
    best, mains, pull = 0.0, nominal, PULL if tones else ISLAND
    for multiple in range(1, FIRST + 1):
        low, high = (nominal * multiple * (1 + sign * pull) for sign in (-1, 1))
        if high + spectrum.half_lobe > spectrum.rate / 2 or not _is_free(spectrum, nominal * multiple, tones):
            continue
        first, last = spectrum.find_bin(low), max(spectrum.find_bin(high), spectrum.find_bin(low) + 1)
        if first <= spectrum.window.half_lobe:
            continue
        peak = first + int(np.argmax(spectrum.power[first : last + 1]))
        if spectrum.power[peak] > best:
            best, mains = float(spectrum.power[peak]), centroid(spectrum, peak) / multiple
    return mains if abs(mains / nominal - 1) <= pull else nominal
