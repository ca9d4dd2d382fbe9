"""Harmonics of a tone and distortion, by the terms of IEC 60268-3: total harmonic distortion to a stated order,
with noise in a stated band, and without the second harmonic.
"""

import math
from dataclasses import dataclass

import numpy as np

from checks.finite import finite_arguments, refuse_unreal
from checks.tone.lines import Frequency, Line, exact_frequency, measure_line, strongest
from checks.tone.spectrum import Spectrum, Tracked

ORDER = 10  # the highest harmonic measured
BAND = (20.0, 20_000.0)  # hertz over which noise is added, unless said otherwise
APART = 1.0  # lobes between two tones that can be told apart
CLOCK = 1e-3  # share by which a card's clock is off at most
HIGHEST_HUM = 1300.0  # hertz up to which the mains family reaches


@dataclass(frozen=True)
class Harmonic:
    """One harmonic: its order, its line, and the order of the mains line it cannot be told from (0 for none)."""

    order: int
    line: Line
    mains_order: int = 0


@dataclass(frozen=True)
class Distortion:
    """A tone with its harmonics. Ratios are shares of the fundamental's RMS (THD_F) unless named otherwise."""

    fundamental: Line
    frequency: Frequency
    harmonics: tuple[Harmonic, ...]
    thd: float
    thd_u: float
    thd_without_second: float
    thd_plus_noise: float  # of the total (THD+N as in AES17)
    band: tuple[float, float]

    def __post_init__(self):
        refuse_unreal(self, "thd_u", least=0, finite=False)

    def relative(self, line: Line) -> float:
        """A line's level in dBr, relative to this fundamental; -inf for nothing."""
        if line.rms <= 0 or self.fundamental.rms <= 0:
            return -math.inf
        return 20 * math.log10(line.rms / self.fundamental.rms)


@finite_arguments
def find_fundamental(spectrum: Spectrum, near: float | None = None, tracked: Tracked | None = None) -> Frequency:
    """The fundamental's exact frequency: near `near` hertz (by 3 % at most), or the strongest tone above 20 Hz."""
    top = spectrum.rate / 2 - spectrum.half_lobe
    low, high = (near * 0.97, near * 1.03) if near else (BAND[0], min(BAND[1], top))
    rough = strongest(spectrum, low, min(high, top))
    if tracked is None:
        tracked = next((t for t in spectrum.tracked if _covers(spectrum, t, rough)), None)
    if tracked is None:
        return Frequency(rough, spectrum.bin_width / 20, 0.0)
    return exact_frequency(spectrum, rough, tracked)


def _covers(spectrum: Spectrum, tracked: Tracked, hertz: float) -> bool:
    return tracked.first <= spectrum.find_bin(hertz) < tracked.first + tracked.bins.shape[1]


@finite_arguments
def measure_distortion(
    spectrum: Spectrum, frequency: Frequency, *, mains: float = 0.0, order: int = ORDER, band=BAND
) -> Distortion:
    """Harmonics 2 to `order` as far as the recording reaches. `mains` in hertz: its lines lend no level to a harmonic
    that can be told from them, and are named where one cannot."""
    base = frequency.hertz
    reach = spectrum.rate / 2 - spectrum.half_lobe
    fundamental = measure_line(spectrum, base)
    avoid = mark_lines(spectrum, [base * k for k in range(1, order + 1)] + mains_lines(mains, reach))
    harmonics = tuple(
        Harmonic(k, measure_line(spectrum, base * k, avoid), _mains_order(spectrum, base * k, mains))
        for k in range(2, order + 1)
        if base * k < reach
    )
    squares = {h.order: h.line.rms**2 for h in harmonics}
    total = sum(squares.values())
    thd = _share(total, fundamental)
    return Distortion(
        fundamental,
        frequency,
        harmonics,
        thd,
        _thd_doubt(harmonics, fundamental, total),
        _share(total - squares.get(2, 0.0), fundamental),
        _with_noise(spectrum, base, fundamental, band),
        band,
    )


def _share(square: float, fundamental: Line) -> float:
    return math.sqrt(max(0.0, square)) / fundamental.rms if fundamental.rms > 0 else math.inf


def _thd_doubt(harmonics, fundamental: Line, total: float) -> float:
    """Standard uncertainty of THD as a share of the fundamental, from the noise under each harmonic."""
    if total <= 0 or fundamental.rms <= 0:
        return math.sqrt(sum(h.line.floor**2 for h in harmonics)) / max(fundamental.rms, 1e-300)
    variance = sum((h.line.rms * _find_doubt(h)) ** 2 for h in harmonics if h.line.rms)
    return math.sqrt(variance / total) / fundamental.rms


def _find_doubt(harmonic: Harmonic) -> float:
    """RMS by which a harmonic is uncertain: the whole of one on a mains line, which hum may make up or take away."""
    line = harmonic.line
    return line.rms if harmonic.mains_order else min(line.rms * line.u / 8.686, line.floor)


def _with_noise(spectrum: Spectrum, base: float, fundamental: Line, band) -> float:
    band = band[0], _past_harmonics(spectrum, base, band[1])
    rest = band_power(spectrum, band, mark_lines(spectrum, [base]))
    total = rest + fundamental.rms**2
    return math.sqrt(rest / total) if total > 0 else math.inf


def _past_harmonics(spectrum: Spectrum, base: float, top: float) -> float:
    """A band's upper end, moved past a harmonic that it would cut in two or lose to an error of the card's clock: the
    second of 10 kHz lies on it."""
    order = round(top / base)
    is_cut = order <= ORDER and abs(order * base - top) < spectrum.half_lobe + CLOCK * top
    return order * base + spectrum.half_lobe if is_cut else top


def _mains_order(spectrum: Spectrum, hertz: float, mains: float) -> int:
    if not mains or hertz > HIGHEST_HUM:
        return 0
    nearest = round(hertz / mains)
    return nearest if nearest and abs(hertz - nearest * mains) < APART * spectrum.half_lobe else 0


@finite_arguments
def mains_lines(mains: float, reach: float, highest: float = HIGHEST_HUM) -> list[float]:
    """The frequencies of the mains family up to `highest` hertz."""
    return [mains * k for k in range(1, int(min(highest, reach) / mains) + 1)] if mains else []


def mark_lines(spectrum: Spectrum, hertz: list[float]) -> np.ndarray:
    """Which bins lie within the lobe of one of these tones, shape (bins,)."""
    marked = np.zeros(len(spectrum.power), dtype=bool)
    lobe = spectrum.window.half_lobe
    for f in hertz:
        centre = spectrum.find_bin(f)
        marked[max(0, centre - lobe) : centre + lobe + 1] = True
    return marked


def band_power(spectrum: Spectrum, band: tuple[float, float], leave_out: np.ndarray, weight=None) -> float:
    """The mean square in a band but for the bins left out, whose noise is taken from that beside them.

    `weight` turns hertz into a factor of power. Bins' power is divided by the window's noise bandwidth.
    """
    low = max(spectrum.window.half_lobe, math.ceil(band[0] / spectrum.bin_width))
    high = min(len(spectrum.power) - 1, math.floor(band[1] / spectrum.bin_width))
    where = np.arange(low, high + 1)
    power = spectrum.power[where].copy()
    out = leave_out[where]
    if out.any() and not out.all():
        power[out] = np.interp(where[out], where[~out], _smooth(power, out)[~out])
    if weight is not None:
        power *= weight(where * spectrum.bin_width)
    return float(power.sum()) / spectrum.window.noise_bandwidth


def _smooth(power: np.ndarray, out: np.ndarray, width: int = 9) -> np.ndarray:
    noise = np.where(out, 0.0, power)
    kernel = np.ones(width)
    count = np.convolve(~out, kernel, "same")
    return np.convolve(noise, kernel, "same") / np.maximum(count, 1)
