"""Single tones in a spectrum: their level, how far they stand out of the noise, and their exact frequency."""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.special import gammainccinv

from checks.errors import ChecksError
from checks.finite import finite_arguments, refuse_unreal
from checks.tone.spectrum import Spectrum, Tracked

BESIDE = 40  # bins on each side, beyond the window's lobe, from which the noise under a tone is taken
BY_CHANCE = 1e-5  # of noise alone standing out so far
LEAK = 10**-14.2  # of the strongest tone's power, which the window's side lobes may show anywhere
WINDOW_ERROR = 0.0025  # dB by which a tone between two bins may read low


@dataclass(frozen=True)
class Line:
    """One tone: RMS in the recording's unit, and that of the noise which would show in its place.

    `u` is the standard uncertainty of the level in dB, from noise and length alone; `is_seen`: it stands out of noise.
    """

    hertz: float
    rms: float
    floor: float
    u: float
    is_seen: bool

    def __post_init__(self):
        refuse_unreal(self, "hertz", "rms", "floor", "u", least=0, finite=False)

    @property
    def greatest(self) -> float:
        """The RMS that it does not exceed (about 95 %), for one that is not seen."""
        return math.hypot(self.rms, 2 * self.floor) if not self.is_seen else self.rms


def noise_near(spectrum: Spectrum, centre: int, avoid: np.ndarray | None = None) -> float:
    """The mean square of noise in a bin near `centre`, from its neighbours, those marked in `avoid` left out.

    The median over neighbours, so that a line among them counts little; scaled to the mean of averaged noise.
    """
    lobe = spectrum.window.half_lobe + 1
    where = np.r_[centre - lobe - BESIDE : centre - lobe, centre + lobe + 1 : centre + lobe + BESIDE + 1]
    where = where[(where > spectrum.window.half_lobe) & (where < len(spectrum.power))]
    if avoid is not None and (~avoid[where]).sum() >= 8:
        where = where[~avoid[where]]
    if not len(where):
        return 0.0
    return float(np.median(spectrum.power[where])) * _mean_over_median(spectrum.averages)


def _mean_over_median(averages: float) -> float:
    """For the mean of `averages` squared magnitudes (gamma; Wilson and Hilferty, 1931)."""
    return 1 / (1 - 1 / (9 * averages)) ** 3


@finite_arguments
def measure_line(spectrum: Spectrum, hertz: float, avoid: np.ndarray | None = None) -> Line:
    """The tone at a known frequency. Raises ChecksError outside the recording's band."""
    centre = spectrum.find_bin(hertz)
    if not spectrum.window.half_lobe <= centre < len(spectrum.power) - 1:
        raise ChecksError("The frequency lies outside the recording.", argument="hertz", code="outside band")
    noise = noise_near(spectrum, centre, avoid)
    tone = max(0.0, float(spectrum.power[centre]) - noise)
    floor = max(noise, LEAK * float(spectrum.power.max()))
    seen = tone + noise > _chance(spectrum.averages) * floor
    return Line(hertz, math.sqrt(tone), math.sqrt(floor), _level_doubt(tone, noise, spectrum.averages), seen)


@lru_cache(maxsize=256)
def _chance(averages: float, by_chance: float = BY_CHANCE) -> float:
    """Times its mean that averaged noise exceeds by chance alone (squared magnitudes, gamma)."""
    return float(gammainccinv(averages, by_chance)) / averages


@finite_arguments
def exceeds_noise(spectrum: Spectrum, line: Line, by_chance: float) -> bool:
    """Does a line stand farther out than noise does with this probability? For the strongest of many places."""
    return line.rms**2 + line.floor**2 > _chance(spectrum.averages, by_chance) * line.floor**2


def _level_doubt(tone: float, noise: float, averages: float) -> float:
    """dB, first order: noise of mean square n beside a tone of mean square t turns its level by sqrt(2n/t)/sqrt(m)."""
    if tone <= 0:
        return math.inf
    spread = math.sqrt((2 * tone * noise + noise**2) / averages) / tone
    return math.hypot(10 / math.log(10) * spread, WINDOW_ERROR / math.sqrt(3))


@finite_arguments
def strongest(spectrum: Spectrum, low: float, high: float) -> float:
    """The rough frequency of the strongest tone from `low` to `high` hertz, within half a bin or so."""
    first, last = max(spectrum.find_bin(low), spectrum.window.half_lobe), spectrum.find_bin(high)
    if last <= first:
        raise ChecksError("The band lies outside the recording.", argument="low", code="outside band")
    return centroid(spectrum, first + int(np.argmax(spectrum.power[first : last + 1])))


def centroid(spectrum: Spectrum, peak: int) -> float:
    """The frequency about which the window's lobe is balanced."""
    lobe = spectrum.window.half_lobe - 1
    where = np.arange(max(0, peak - lobe), min(len(spectrum.power), peak + lobe + 1))
    weights = spectrum.power[where]
    total = float(weights.sum())
    return float(where @ weights) / total * spectrum.bin_width if total > 0 else peak * spectrum.bin_width


@dataclass(frozen=True)
class Frequency:
    """Hertz with its standard uncertainty, and how much it moved over the recording (standard deviation, hertz)."""

    hertz: float
    u: float
    wander: float

    def __post_init__(self):
        refuse_unreal(self, "hertz", "u", "wander", least=0, finite=False)


@finite_arguments
def exact_frequency(spectrum: Spectrum, rough: float, tracked: Tracked) -> Frequency:
    """From the turn of phase between segments, fitted by a straight line. Raises ChecksError with one segment."""
    if spectrum.segments < 2:
        raise ChecksError("The recording is too short.", argument="segments", code="too short")
    column = min(max(spectrum.find_bin(rough) - tracked.first, 0), tracked.bins.shape[1] - 1)
    phases = np.angle(tracked.bins[:, column])
    turn = 2 * math.pi * rough * spectrum.hop / spectrum.rate
    steps = np.arange(spectrum.segments)
    beyond = np.unwrap(np.angle(np.exp(1j * (phases - turn * steps))))
    slope, offset = np.polyfit(steps, beyond, 1)
    rest = beyond - (slope * steps + offset)
    per_hop = spectrum.rate / (2 * math.pi * spectrum.hop)
    free = max(1, spectrum.segments - 2)
    spread = math.sqrt(float(rest @ rest) / free)
    lever = math.sqrt(float(((steps - steps.mean()) ** 2).sum()))
    moved = np.diff(beyond) - slope
    wander = float(np.sqrt(np.mean(moved**2))) if len(moved) > 1 else 0.0
    return Frequency(rough + float(slope) * per_hop, spread / lever * per_hop, wander * per_hop)
