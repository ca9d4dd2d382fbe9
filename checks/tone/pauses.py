"""Whether a noise gate or an expander worked while a tone was recorded: it turns down what nobody played.

Hiss and hum in the pauses before and after a tone are compared with those under it. An amplifier's hiss is the same in
both; its ripple may rise while it is driven, and a converter's own noise while it converts, so that neither counts
alone. A silence cannot show this by itself: a gate that stays shut leaves hum and hiss as steady as they were.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from checks.finite import finite_figures, real_arguments
from checks.tone.hum import Hum
from checks.tone.spectrum import Spectrum
from checks.tone.survey import GUARD, Stretch

FRAME = 0.1  # seconds, the middle of which counts: a click is shorter
BAND = (2000.0, 15_000.0)  # hertz in which hiss is taken, the middle of its bins: harmonics stand in few
LEAD, TAIL = (-0.6, -0.1), (0.15, 0.45)  # seconds from where the signal begins, and from where it ends
FEWEST = 2  # frames of a pause
FULL_BAND = 20_000.0  # hertz
OWN = 10**-4.5  # of the tone (-90 dBr): less hiss under it may be the converters', which some mute in a pause
QUIETER = 2.0  # times (6 dB) by which hiss and hum are quieter in a pause
RIPPLE = 4.0  # the same of hum, where hiss tells little: an amplifier at work ripples more
ROUNDING = 1.0  # of a step's square: noise that is hardly more than rounding (a twelfth to a quarter)
STRONG = 0.3  # of the strongest line of the hum, from which a line counts
MEDIAN_OF_ONE = math.log(2)  # of noise's squared magnitude (exponential)
MEDIAN_OF_MEAN = 0.93  # of the same, averaged


@finite_figures
@dataclass(frozen=True)
class PauseNoise:
    """What one stretch holds beside what was played: mean square of hiss in a hertz, RMS of hum."""

    hiss: float
    hum: float


def pauses_about(stretch: Stretch, samples: int, rate: int) -> list[Stretch]:
    """The pauses before and after the active stretch of a signal, as far as they were recorded."""
    begins, ends = stretch.start - round(GUARD * rate), stretch.stop + round(GUARD * rate)
    stretches = [
        Stretch(max(0, at + round(part[0] * rate)), min(samples, at + round(part[1] * rate)))
        for at, part in ((begins, LEAD), (ends, TAIL))
    ]
    return [pause for pause in stretches if len(pause) >= FEWEST * round(FRAME * rate)]


@real_arguments
def turned_down(spectrum: Spectrum, hum: Hum, tone: float, pauses: Iterable[np.ndarray], step: float) -> float:
    """How many times quieter than under a tone of RMS `tone` it is in the quietest pause; 0 where no gate worked.

    `step` is the least step of the file.
    """
    under = PauseNoise(_estimate_hiss(spectrum), _hum_under(hum))
    ratios = [_times(under, _quiet(piece, spectrum.rate, _strong(hum)), tone, step, spectrum.rate) for piece in pauses]
    return max(ratios, default=0.0)


def turned_up(spectrum: Spectrum, pauses: Iterable[np.ndarray]) -> float:
    """How many times louder hiss is in a pause than under the tone, as level control makes it; 0 where it is not."""
    under = max(_estimate_hiss(spectrum), 1e-300)
    louder = max((math.sqrt(_quiet(piece, spectrum.rate, ()).hiss / under) for piece in pauses), default=0.0)
    return louder if louder > QUIETER else 0.0


def _times(under: PauseNoise, pause: PauseNoise, tone: float, step: float, rate: int) -> float:
    hiss = math.sqrt(under.hiss / max(pause.hiss, 1e-300))
    hum = under.hum / max(pause.hum, 1e-300) if under.hum else 0.0
    is_own = math.sqrt(under.hiss * FULL_BAND) < OWN * tone
    if hiss > QUIETER and (hum > RIPPLE or not is_own):
        return max(hiss, hum)
    is_rounding = pause.hiss * rate / 2 < ROUNDING * step**2
    return hum if is_rounding and hum > RIPPLE else 0.0


def _estimate_hiss(spectrum: Spectrum) -> float:
    low, high = (spectrum.find_bin(min(hertz, 0.45 * spectrum.rate)) for hertz in BAND)
    return float(np.median(spectrum.density[low:high])) / MEDIAN_OF_MEAN


def _hum_under(hum: Hum) -> float:
    return math.sqrt(sum(rms**2 for _hertz, rms in _strong(hum)))


def _strong(hum: Hum) -> list[tuple[float, float]]:
    most = max((line.rms for line in hum.lines), default=0.0)
    return [(line.hertz, line.rms) for line in hum.lines if line.rms > STRONG * most]


def _quiet(piece: np.ndarray, rate: int, lines: Iterable[tuple[float, float]]) -> PauseNoise:
    size = round(FRAME * rate)
    frames = piece[: len(piece) // size * size].reshape(-1, size)
    window = np.hanning(size) ** 2
    bins = np.fft.rfft((frames - frames.mean(axis=1, keepdims=True)) * window, axis=1)
    power = 2 * (bins.real**2 + bins.imag**2) / (rate * float(window @ window))
    low, high = (round(min(hertz, 0.45 * rate) * size / rate) for hertz in BAND)
    hiss = float(np.median(np.median(power[:, low:high], axis=1))) / MEDIAN_OF_ONE
    return PauseNoise(hiss, math.sqrt(sum(_line(piece, rate, hertz) ** 2 for hertz, _rms in lines)))


def _line(piece: np.ndarray, rate: int, hertz: float) -> float:
    """RMS of a line in a piece of some tenths of a second."""
    window = np.hanning(len(piece))
    turn = np.exp(-2j * math.pi * hertz * np.arange(len(piece)) / rate)
    return math.sqrt(2) * float(abs(((piece - piece.mean()) * window) @ turn)) / float(window.sum())
