"""Whether a recorded sweep ran as fast as it was sent. One that was stretched reaches each frequency later than it
should, by a time that grows with the logarithm of the frequency; an amplifier's own delay in mid-band hardly varies.
"""

import math

import numpy as np
from scipy.stats import theilslopes

from checks.tone.sources import SignalPlan

BAND = (400.0, 8000.0)  # hertz in which the delay is looked at: within it an amplifier's is below half a millisecond
BANDS_PER_OCTAVE = 6
AROUND = (0.2, 0.8)  # seconds before and after the pulse, in which a stretched one may be spread


def stretch_of_sweep(pulse: np.ndarray, peak: int, plan: SignalPlan) -> float:
    """The share by which a sweep ran faster than it was sent; below zero for slower.

    `pulse` is the recording divided by the sweep, strongest at `peak`.
    """
    before, after = (round(seconds * plan.rate) for seconds in AROUND)
    piece = pulse[np.arange(peak - before, peak + after) % len(pulse)]
    length = 1 << math.ceil(math.log2(len(piece)) + 1)
    bins = np.fft.rfft(np.roll(np.pad(piece, (0, length - len(piece))), -before))
    turns = bins[1:] * bins[:-1].conj()
    width = plan.rate / length
    low, high = max(BAND[0], 2 * plan.hertz[0]), min(BAND[1], plan.hertz[1] / 2)
    if high < 2 * low:
        return 0.0
    edges = np.geomspace(low, high, 1 + round(BANDS_PER_OCTAVE * math.log2(high / low)))
    parts = np.add.reduceat(turns[: round(high / width)], (edges[:-1] / width).round().astype(int))
    delays = -np.angle(parts) / (2 * math.pi * width)
    growth = plan.seconds / math.log(plan.hertz[1] / plan.hertz[0])
    slope = theilslopes(delays, np.log(np.sqrt(edges[1:] * edges[:-1]))).slope
    return -float(slope) / growth
