"""Noise that comes and goes with a sweep: lossy compression rounds what is loud roughly, and spreads noise about it.

Between a sweep's own frequency and its harmonics an amplifier has the noise that it had before the sweep began. A frame
is short enough that the sweep stays within what is left out about it, and its window lets nothing leak from there.
"""

import math

import numpy as np

from checks.tone.sources import FADE, SignalPlan

FRAME = 0.04  # seconds
WINDOW = (0.35875, -0.48829, 0.14128, -0.01168)  # four terms (Harris, 1978): nothing leaks above -92 dB
BESIDE = ((0.6, 0.85), (1.2, 1.7))  # of the sweep's frequency, between it and its harmonics, where noise is looked at
QUIET = (-0.6, -0.1)  # seconds from the sweep's beginning
HERTZ = (400.0, 12_000.0)  # of the sweep
RAISED = 4.0  # times in power (6 dB) by which noise rises with the sweep
HEARD = 10**-6.6  # of the sweep's power, that this noise has over the frequency itself (-66 dB): less moves no edge
SHARE = 0.25  # of the frames of the sweep, in which it does
FEWEST = 6  # bins


def noise_with_sweep(samples: np.ndarray, begins: int, plan: SignalPlan) -> float:
    """How many times noise has grown beside a recorded sweep, which begins at a sample; 0 where it has not."""
    size = round(FRAME * plan.rate)
    turns = 2 * math.pi * np.arange(size) / size
    window = np.array(WINDOW) @ np.cos(np.outer(np.arange(len(WINDOW)), turns))
    quiet = samples[max(0, begins + round(QUIET[0] * plan.rate)) : max(0, begins + round(QUIET[1] * plan.rate))]
    if len(quiet) < 4 * size:
        return 0.0
    before = _power(quiet, window).mean(axis=0)
    growth = plan.seconds / math.log(plan.hertz[1] / plan.hertz[0])
    growths = []
    during = samples[begins + round(FADE * plan.rate) : begins + round((plan.seconds - FADE) * plan.rate)]
    for frame, power in enumerate(_power(during, window)):
        hertz = plan.hertz[0] * math.exp((FADE + (frame + 1) * size / 2 / plan.rate) / growth)
        if HERTZ[0] <= hertz <= min(HERTZ[1], plan.rate / 4):
            growths.append(_growth(power, before, hertz * size / plan.rate))
    raised = [times for times in growths if times > RAISED]
    return float(np.median(raised)) if growths and len(raised) > SHARE * len(growths) else 0.0


def _power(samples: np.ndarray, window: np.ndarray) -> np.ndarray:
    """Squared magnitudes of half-overlapping frames, shape (frames, bins)."""
    size = len(window)
    if len(samples) < size:
        return np.zeros((0, size // 2 + 1))
    bins = np.fft.rfft(np.lib.stride_tricks.sliding_window_view(samples, size)[:: size // 2] * window, axis=1)
    return bins.real**2 + bins.imag**2


def _growth(power: np.ndarray, before: np.ndarray, centre: float) -> float:
    """Times the noise before, of that beside a sweep at bin `centre`; 0 where it is too little to count."""
    times = []
    sweep = float(power[round(0.9 * centre) : round(1.1 * centre) + 1].sum())
    for low, high in BESIDE:
        where = slice(math.ceil(low * centre), math.floor(high * centre))
        noise = float(np.median(power[where])) / math.log(2) if where.stop - where.start >= FEWEST else 0.0
        if noise * centre > HEARD * sweep:
            times.append(noise / max(float(before[where].mean()), 1e-300))
    return max(times, default=0.0)
