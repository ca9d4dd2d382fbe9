"""Buffers that were lost while silence was recorded: the same value, or the same samples, over and over for longer than
noise ever does. Every row of so many samples that noise hardly holds it twice is hashed, and the same hashes are looked
for.
"""

import math

import numpy as np

HUMS = (50.0, 60.0)  # hertz of the mains, a turn of which may repeat the one before it
PIECE = 0.05  # seconds over which the longest run of equal samples is taken: two turns of the mains
CHANCE = 1e-6  # by which noise may look like lost samples
LONGEST_LAG = 0.25  # seconds between a block and its repetition
STANDS = 1 / 6000  # seconds, for less of which a few bits that the system resampled to a higher rate may stand still
HELD = 1 << 19  # samples that are looked through for repetitions at once
QUIETEST = 0.6  # steps of the converter, below which noise is rounding and a repetition changes nothing
SAMPLED = 1 << 15  # of them, from which noise and chance are taken
KEPT = np.uint64(1 << 62)  # below which a hash counts: a quarter of them, the same wherever they come again
PERIODIC = 0.1  # of a recording that repeats itself: it is a wave without noise
HASHED = 1 << 14  # rows hashed at once, which a processor's cache holds
FACTOR = 0x9E3779B97F4A7C15  # 2^64 over the golden ratio (Knuth, vol. 3, 6.4)


class StandstillDetector:
    """Where one channel of noise stands still or repeats itself, collected from blocks of shape (samples,)."""

    def __init__(self, rate: int):
        self.rate = rate
        self.piece = round(PIECE * rate)
        self.samples = self.same = 0
        self.longest: list[int] = []  # run of equal samples of each piece
        self.rest = np.zeros(0)
        self.held: list[np.ndarray] = []
        self.holds = 0  # samples
        self.repeated: list[float] = []

    def add(self, block: np.ndarray) -> None:
        joined = np.concatenate([self.rest, block])
        whole = len(joined) // self.piece * self.piece
        pieces = joined[:whole].reshape(-1, self.piece)
        still = pieces[:, 1:] == pieces[:, :-1]
        self.same += int(np.count_nonzero(still))
        self.longest += _longest_runs(still).tolist()
        self._hold(joined[:whole])
        self.samples += whole
        self.rest = joined[whole:]
        if self.holds >= HELD:
            self._look_for_repeats()

    def _hold(self, samples: np.ndarray) -> None:
        self.held.append(samples)
        self.holds += len(samples)

    def _look_for_repeats(self) -> None:
        held, start = np.concatenate(self.held), (self.samples - self.holds) / self.rate
        self.repeated += [start + at for at in repeats(held, self.rate)]
        self.held, self.holds = [], 0
        self._hold(held[len(held) - round(LONGEST_LAG * self.rate) :].copy())

    def losses(self) -> list[float]:
        """Seconds at which samples stand still or come a second time."""
        if self.holds > LONGEST_LAG * self.rate:
            self._look_for_repeats()
        return sorted([*self._standstills(), *self.repeated])

    def _standstills(self) -> list[float]:
        """Seconds at which one value is held, zero or not, for longer than noise holds one."""
        if len(self.longest) < 4 or not 0 < self.same < 0.999 * self.samples:
            return []
        longest, share = np.array(self.longest), self.same / self.samples
        chance = math.log(CHANCE / self.samples) / math.log(share)
        least = max(STANDS * self.rate, chance, 4 * float(np.median(longest)), 3 * float(np.quantile(longest, 0.9)))
        return [float((piece + 0.5) * PIECE) for piece in np.flatnonzero(longest >= least)]


def _longest_runs(masks: np.ndarray) -> np.ndarray:
    """The longest run of true in each row."""
    rows, width = len(masks), masks.shape[1] + 2
    framed = np.zeros((rows, width), dtype=bool)
    framed[:, 1:-1] = masks
    flat = framed.ravel()
    edges = np.flatnonzero(flat[1:] != flat[:-1])
    longest = np.zeros(rows, dtype=int)
    np.maximum.at(longest, edges[::2] // width, edges[1::2] - edges[::2])
    return longest


def repeats(samples: np.ndarray, rate: int) -> list[float]:
    """Seconds at which samples of noise, shape (samples,), come a second time within LONGEST_LAG."""
    levels, counts = np.unique(samples[:SAMPLED], return_counts=True)
    if len(levels) < 3 or _noise(samples) < QUIETEST * float(np.diff(levels).min()):
        return []
    alike = max(float(((counts / counts.sum()) ** 2).sum()), *(_alike_after(samples, rate, hum) for hum in HUMS))
    if not 0 < alike < 0.9:
        return []
    pairs = len(samples) * LONGEST_LAG * rate
    width = 1 << max(4, math.ceil(math.log2(math.log(CHANCE / pairs) / math.log(alike))))
    if len(samples) < 4 * width:
        return []
    hashes = hashes_of_rows(samples, width)
    places = np.flatnonzero(hashes < KEPT)
    first, second = _pairs_alike(hashes, places)
    near = second - first <= LONGEST_LAG * rate
    if not near.any() or near.sum() > PERIODIC * len(places):
        return []
    at = np.sort(second[near]) / rate
    return [float(t) for n, t in enumerate(at) if n == 0 or t > at[n - 1] + PIECE]


def _pairs_alike(hashes: np.ndarray, places: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Of some places those whose hash comes again, and where it comes next. Each hash is sorted with its place in its
    last bits, which takes a fraction of the time of sorting the places by their hashes."""
    last = (np.uint64(1) << np.uint64(len(hashes).bit_length())) - np.uint64(1)
    in_order = np.sort((hashes[places] & ~last) | places.astype(np.uint64))
    alike = np.flatnonzero((in_order[1:] ^ in_order[:-1]) <= last)
    first, second = ((in_order[alike + n] & last).astype(int) for n in (0, 1))
    same = hashes[first] == hashes[second]
    return first[same], second[same]


def _alike_after(samples: np.ndarray, rate: int, hum: float) -> float:
    """The share of samples that are the same a turn of the mains later, by chance: only noise tells them apart."""
    turn = round(rate / hum)
    return float((samples[turn : SAMPLED + turn] == samples[: len(samples) - turn][:SAMPLED]).mean())


def _noise(samples: np.ndarray) -> float:
    """RMS of the noise, from fourth differences: white noise makes √70 times as much of them, hum nothing."""
    return float(np.median(np.abs(np.diff(samples[:SAMPLED], 4)))) * 1.4826 / math.sqrt(70)


def hashes_of_rows(samples: np.ndarray, width: int) -> np.ndarray:
    """One number for each `width` samples in a row."""
    words = np.ascontiguousarray(samples, dtype=float).view(np.uint64)
    hashes = np.empty(len(words) - width + 1, dtype=np.uint64)
    for start in range(0, len(hashes), HASHED):
        hashes[start : start + HASHED] = _hashes(words[start : start + HASHED + width - 1], width)
    return hashes


def _hashes(words: np.ndarray, width: int) -> np.ndarray:
    """From windows of twice the width each time."""
    hashes = words ^ (words >> np.uint64(29))
    factor, size = FACTOR, 1
    while size < width:
        later = hashes[size:] >> np.uint64(31)
        later ^= hashes[size:]
        hashes = hashes[:-size] * np.uint64(factor)
        hashes += later
        factor, size = (factor * factor + 2) % (1 << 64), 2 * size
    return hashes
