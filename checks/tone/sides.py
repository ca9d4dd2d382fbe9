"""Which channel of a recording is which, by a mark that the test signal's left channel alone carries.

The mark is a quiet tone in the silence before the signal. Where it is heard on the right, the channels were swapped on
the way; where it is heard on both sides alike, they were mixed, and neither is a channel of the amplifier.
"""

import math
from enum import StrEnum

import numpy as np

from checks.tone.sources import FULL

MARK_HERTZ = 733.0  # apart from the mains lines by half of their distance
MARK_BEGINS, MARK_SECONDS = 0.1, 0.25  # from the file's first sample
MARK_LEVEL = 0.03  # of the signal's level (-30 dB): too quiet to be taken for its beginning
INSIDE = (-0.87, -0.68)  # seconds before the signal begins, all of them within the mark
QUIET = (-0.5, -0.2)  # and these after it
HEARD = 10.0  # times the power of what is heard there anyway
APART = 3.0  # times, by which the mark is louder on its own side; no stereo amplifier leaks -10 dB
FRAME = 0.05  # seconds


class Sides(StrEnum):
    """Of a recording of two channels."""

    RIGHT = "right"  # as they were sent
    SWAPPED = "swapped"
    MIXED = "mixed"  # one and the same on both
    UNKNOWN = "unknown"  # no mark is heard


def with_mark(samples: np.ndarray, rate: int) -> np.ndarray:
    """A test signal of one channel as one of two, shape (samples, 2), with the mark on the left."""
    count = round(MARK_SECONDS * rate)
    mark = MARK_LEVEL * FULL * np.sin(2 * math.pi * MARK_HERTZ * np.arange(count) / rate) * np.hanning(count) ** 0.25
    both = np.column_stack([samples, samples])
    begins = round(MARK_BEGINS * rate)
    both[begins : begins + count, 0] += mark
    return both


def find_sides(lead: np.ndarray, rate: int) -> Sides:
    """From the second before the signal begins, shape (samples, 2)."""
    if len(lead) < round(-INSIDE[0] * rate):
        return Sides.UNKNOWN
    marks, quiet = (_powers(lead, rate, part) for part in (INSIDE, QUIET))
    over = np.maximum(marks - quiet, 0.0)
    if not (marks > HEARD * quiet + 1e-18).any():
        return Sides.UNKNOWN
    if over[0] > APART**2 * over[1]:
        return Sides.RIGHT
    return Sides.SWAPPED if over[1] > APART**2 * over[0] else Sides.MIXED


def is_one(samples: np.ndarray) -> bool:
    """Are both channels the same samples, and not silence? Two converters never give the same noise."""
    return bool(len(samples)) and bool(samples.any()) and bool((samples[:, 0] == samples[:, 1]).all())


def _powers(lead: np.ndarray, rate: int, part: tuple[float, float]) -> np.ndarray:
    """Mean power at the mark's frequency in each channel, shape (channels,)."""
    first, last = (len(lead) + round(seconds * rate) for seconds in part)
    size = round(FRAME * rate)
    count = (last - first) // size
    pieces = lead[first : first + count * size].reshape(count, size, -1)
    probe = np.hanning(size) * np.exp(-2j * math.pi * MARK_HERTZ * np.arange(size) / rate)
    levels = np.einsum("fsc,s->fc", pieces, probe) / probe.size
    return (np.abs(levels) ** 2).mean(axis=0)
