"""Whether the recorder changed its own gain: level control, noise suppression and gates make every figure another's.

In silence the hum and the hiss would swing from second to second, or step and stay there, as in two recordings that
were joined; about a sweep, what is heard before it and after it would differ. An amplifier's own hum and noise do
neither.
"""

import math
from dataclasses import dataclass, field

import numpy as np

from checks.tone.sources import FADE, SignalPlan

PIECE = 0.1  # seconds a level is taken over
MIDDLE = 5  # pieces, the middle of which counts: a crackle is shorter
SWING = 2.0  # times (6 dB), by which no amplifier's hum or hiss changes within a recording of silence
STEP = 1.2  # times (1.6 dB), by which none changes from one second to the next: one that warms up is slower
DRIFTS = 0.06  # share (0.5 dB) from which hiss that grew or fell bit by bit is remarked: chance makes less than 1 %
BESIDE, SKIPPED = 8, 1  # levels on either side of a step, and between them
SURE = 7.0  # standard deviations from which a step is none of chance: 3e-12 a place for levels that scatter normally
BEFORE, AFTER = 0.6, 0.3  # seconds of what is heard before and after a sweep
RINGS = 0.1  # seconds after a sweep, in which the amplifier comes to rest
LOWERED = 1.5  # times (3.5 dB), by which what is heard after a sweep is quieter, or louder, than before it


@dataclass
class SwingWatch:
    """The level of hiss through silence, collected from blocks of shape (samples, channels).

    Taken from the differences of neighbouring samples, which hold little of hum and nothing of direct current.
    """

    rate: int
    channels: int
    levels: list[np.ndarray] = field(default_factory=list)

    def __post_init__(self):
        self.piece = round(PIECE * self.rate)
        self.rest = np.zeros((0, self.channels))

    def add(self, block: np.ndarray) -> None:
        joined = np.concatenate([self.rest, block])
        count = len(joined) // self.piece
        steps = np.diff(joined[: count * self.piece].reshape(count, self.piece, self.channels), axis=1)
        self.levels.append(np.sqrt(np.einsum("psc,psc->pc", steps, steps) / self.piece))
        self.rest = joined[count * self.piece :].copy()

    def swing(self, channel: int) -> float:
        """The loudest part over the quietest, where it is more than an amplifier's."""
        return unsteadiness(self._levels(channel))

    def drift(self, channel: int) -> float:
        """The share by which the first third of it is louder or quieter than the last; 0 where it is not by much."""
        levels = self._levels(channel)
        third = len(levels) // 3
        if third < MIDDLE or not (levels > 0).all():
            return 0.0
        apart = float(np.median(levels[:third]) / np.median(levels[-third:]))
        drift = max(apart, 1 / apart) - 1
        return drift if drift > DRIFTS else 0.0

    def _levels(self, channel: int) -> np.ndarray:
        return np.concatenate([block[:, channel] for block in self.levels]) if self.levels else np.zeros(0)


def measure_swing(levels: np.ndarray) -> float:
    """The loudest over the quietest of levels in a row, each the middle of MIDDLE; 1 for too few, or for nothing."""
    if len(levels) < 2 * MIDDLE:
        return 1.0
    middles = np.median(np.lib.stride_tricks.sliding_window_view(levels, MIDDLE), axis=1)
    return float(middles.max() / middles.min()) if middles.min() > 0 else 1.0


def measure_step(levels: np.ndarray) -> float:
    """The greatest change, in times, of levels in a row that stays; 1 where chance alone may explain it.

    The middles of BESIDE levels before and after each place are compared, so that a crackle counts for nothing. A
    median of n scatters by 1.2533 σ/√n, the difference of two by √2 times that; σ is taken from neighbours.
    """
    if len(levels) < 2 * BESIDE + SKIPPED or not (levels > 0).all():
        return 1.0
    logs = np.log(levels)
    middles = np.median(np.lib.stride_tricks.sliding_window_view(logs, BESIDE), axis=1)
    apart = np.abs(middles[BESIDE + SKIPPED :] - middles[: -BESIDE - SKIPPED])
    sigma = 1.4826 * float(np.median(np.abs(np.diff(logs)))) / math.sqrt(2)
    doubt = 1.2533 * math.sqrt(2 / BESIDE) * sigma
    return float(np.exp(apart.max())) if apart.max() > SURE * doubt else 1.0


def unsteadiness(levels: np.ndarray) -> float:
    """How many times the levels of one thing swing or step, where it is more than an amplifier's do; else 1."""
    swing, step = measure_swing(levels), measure_step(levels)
    return max(swing if swing > SWING else 1.0, step if step > STEP else 1.0)


def fall_after_sweep(samples: np.ndarray, begins: int, plan: SignalPlan) -> float:
    """How many times louder it is before a sweep, which begins at a sample, than after it; 1 where nothing is heard."""
    rate, ends = plan.rate, begins + round(plan.seconds * plan.rate)
    before = samples[max(0, begins - round(BEFORE * rate)) : max(0, begins - round(FADE * rate))]
    after = samples[ends + round(RINGS * rate) : ends + round((RINGS + AFTER) * rate)]
    levels = [_quiet_level(part, rate) for part in (before, after)]
    return levels[0] / levels[1] if all(levels) else 1.0


def _quiet_level(part: np.ndarray, rate: int) -> float:
    """The middle level of pieces of 20 ms, whole turns of the mains, each about its own mean; 0 for too few."""
    size = round(0.02 * rate)
    pieces = part[: len(part) // size * size].reshape(-1, size)
    return float(np.median(pieces.std(axis=1))) if len(pieces) >= MIDDLE else 0.0
