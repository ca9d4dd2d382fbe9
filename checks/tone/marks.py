"""What tells one recording from every other, so that one sent twice is known: by file, cut shorter, as WAV or as FLAC.

No two recordings of an amplifier share a row of samples: noise sees to that. Of all rows of WIDTH samples those are
kept whose hashes are least (Broder, "On the resemblance and containment of documents", 1997); two recordings that share
a stretch share the marks of it, however their beginnings and ends were cut. A copy turned up or down, or resampled,
shares none.
"""

from dataclasses import dataclass, field

import numpy as np

WIDTH = 64  # samples of a row
RAREST = 7  # bits of a row's own beginning that are zero where it counts: one row in 128
LEADING = 8  # samples of that beginning
MOST = 1 << 19  # samples of a channel that are looked at
KEPT = 64  # marks of a recording
CHANGES = 24  # of a row: fewer would be silence, or a few held values
SHARED = 3  # marks, from which two recordings are one: hashes of 60 bits meet once in 1e14 pairs of recordings
BITS = 60
FACTOR = np.uint64(0x9E3779B97F4A7C15)  # 2^64 over the golden ratio (Knuth, vol. 3, 6.4)


@dataclass
class Marker:
    """The marks of a recording, collected from blocks of shape (samples, channels)."""

    channels: int
    taken: int = 0
    least: np.ndarray = field(default_factory=lambda: np.zeros(0, dtype=np.uint64))

    def __post_init__(self):
        self.rest = np.zeros((0, self.channels))

    def add(self, block: np.ndarray) -> None:
        if self.taken >= MOST:
            return
        joined = np.concatenate([self.rest, block])
        self.taken += len(block)
        self.rest = joined[max(0, len(joined) - WIDTH + 1) :].copy()
        for channel in range(self.channels):
            self.least = np.unique(np.concatenate([self.least, _hashes(joined[:, channel])]))[:KEPT]

    def marks(self) -> tuple[int, ...]:
        return tuple(int(mark) for mark in self.least)


def is_one_recording(marks: tuple[int, ...] | list[int], others: tuple[int, ...] | list[int]) -> bool:
    """Do two recordings share a stretch of samples?"""
    return len(set(marks) & set(others)) >= SHARED


def _hashes(samples: np.ndarray) -> np.ndarray:
    """Of the rows that count in samples of shape (samples,)."""
    if len(samples) < WIDTH:
        return np.zeros(0, dtype=np.uint64)
    mixed = _mixed(np.ascontiguousarray(samples + 0.0).view(np.uint64))
    leading = mixed[: len(mixed) - LEADING + 1].copy()
    for n in range(1, LEADING):
        leading = leading * FACTOR + mixed[n : len(mixed) - LEADING + 1 + n]
    first = np.flatnonzero(leading[: len(samples) - WIDTH + 1] >> np.uint64(64 - RAREST) == 0)
    rows = samples[first[:, None] + np.arange(WIDTH)]
    first = first[np.count_nonzero(np.diff(rows, axis=1), axis=1) >= CHANGES]
    powers = np.cumprod(np.full(WIDTH, FACTOR))
    return _mixed(mixed[first[:, None] + np.arange(WIDTH)] @ powers) >> np.uint64(64 - BITS)


def _mixed(values: np.ndarray) -> np.ndarray:
    values = (values ^ (values >> np.uint64(31))) * FACTOR
    return values ^ (values >> np.uint64(29))
