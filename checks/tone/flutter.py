"""Whether a tone's frequency moved while it was recorded: tape, a resampled stream and an unlocked clock do that.

What moves within one segment of the spectrum spreads a harmonic over its neighbours, the more the higher its order, so
that it reads low: by (k φ)²/2 of the k-th harmonic for an RMS phase of φ radians (the Bessel function J0, for small φ).
"""

import math

import numpy as np

from checks.finite import real_arguments

SEGMENT = 1.4  # seconds: as long as a segment of a spectrum of 65,536 samples at 48 kHz
FEWEST = 4  # frames in a segment
SMEARED = 0.05  # radians RMS, from which the third harmonic reads 0.1 dB low
HEARD = 0.01  # the same from which the tone's own side lines count as noise above -40 dBr
OFF = 0.08  # hertz that a segment's frequency lies beside the mean: a third of a bin for the third harmonic
OFF_SHARE = 2e-5  # the same as a share of a high tone, of which fewer harmonics are measured


@real_arguments
def moving_phase(levels: np.ndarray, hertz: float, frame: float) -> tuple[float, float]:
    """(radians RMS about a straight line within the worst segment, times OFF that a segment lies beside the mean).

    `levels` are the complex levels of a tone of `hertz` from frame to frame, shape (frames,), of `frame` seconds each.
    What differs from frame to frame by chance alone is taken off.
    """
    count = max(FEWEST, round(SEGMENT / frame))
    if len(levels) < count or not np.abs(levels).all():
        return 0.0, 0.0
    phase = np.unwrap(np.angle(levels) - 2 * math.pi * hertz * frame * np.arange(len(levels)))
    parts = np.lib.stride_tricks.sliding_window_view(phase, count)[:: max(1, count // 2)]
    steps = np.arange(count) - (count - 1) / 2
    slopes = parts @ steps / float(steps @ steps)
    rests = parts - parts.mean(axis=1, keepdims=True) - np.outer(slopes, steps)
    squares = (rests[:, 1:] * rests[:, :-1]).mean(axis=1)  # of neighbours: noise is another in each frame
    apart = np.abs(slopes - slopes.mean()).max() / (2 * math.pi * frame)
    return math.sqrt(max(0.0, float(squares.max()))), float(apart) / max(OFF, OFF_SHARE * hertz)
