"""A first pass over a recording: its level over time, where it begins and ends, clipping, dropouts, direct current.

Fed in blocks, so that memory stays flat however long the recording is.
"""

from dataclasses import dataclass, field, replace

import numpy as np

from checks.errors import ChecksError

FRAME = 0.02  # seconds a level is taken over
ACTIVE = 0.1  # of the loudest frames: what is quieter is before or after the signal
GUARD = 0.15  # seconds left out at both ends of the signal: fades, switching
FLAT_RUN = 3  # samples in a row at one extreme: clipped
COARSEST = 2**-12  # of full scale, that a step of the converter is at most, also in a file turned up later
JUMP = 8  # steps of the converter by which a clipped signal leaves its top at least
DITHERED = 3  # steps below the top, within which a clipped top lies that was dithered afterwards
MANY = 4  # such tops on a side in a block: each turn of a clipped tone has one
FAR = 24  # steps by which it has left that half as long after: a sine, four times as low at twice the distance, 17
ROUND_LEVELS = (0.0, 0.1, 0.2, 0.3, 0.5, 1.0, 2.0, 3.0, 6.0)  # dB below full scale, to which programs normalise
ROUND_SHARES = (0.99, 0.98, 0.95, 0.9)  # the same as shares of full scale
AT_ROUND = (2.3, 1.1)  # steps of the file below and above one, within which a peak lies there: full scale is a step
# less in some programs, and dither moves a peak; of 16 bits one honest recording in 600 does so by chance
FINEST = 1e-6  # of full scale, for files of floating-point samples
LOUDEST = 1e6  # times full scale: what is more in a file of floating-point samples is none
MOST_STEPS_READ = 500_000  # changes from sample to sample, of which the least is the converter's step
LEAST_TOP = 0.1  # of the peak, that the lower of both extremes has at least where its flat runs count
COARSE_SILENCE = 2**-6  # of full scale, up to which steps of a quiet recording are those of its file
ZERO_RUN = 0.0005  # seconds of exact zeros within a signal: a dropout


@dataclass(frozen=True)
class Stretch:
    """From the sample `start` up to before `stop`."""

    start: int
    stop: int

    def __len__(self) -> int:
        return max(0, self.stop - self.start)


@dataclass(frozen=True)
class Survey:
    """What one channel of a recording looks like in time. Levels are shares of full scale."""

    rate: int
    samples: int
    peak: float
    mean: float
    frames: np.ndarray = field(repr=False)  # RMS of each frame about the recording's mean; 0 for digital zeros
    flat_runs: int = 0  # runs of equal samples at an extreme
    zero_runs: tuple[int, ...] = ()  # where runs of exact zeros begin
    step: float = 0.0  # the least change from sample to sample: a step of the file's, or the converter's
    flat_side: int = 0  # the only side on which it lay flat, -1 or 1; 0 for both or none
    coarse_step: float = 0.0  # in which all samples lie, where it is coarser than any converter's; else 0
    loudest: float = 0.0  # the peak of the recording's loudest channel, which all were turned up by; 0 for its own

    @property
    def seconds(self) -> float:
        return self.samples / self.rate

    @property
    def frame(self) -> int:
        return round(self.rate * FRAME)

    def active(self) -> Stretch:
        """The signal without silence before and after; the whole recording where nothing stands out."""
        if not len(self.frames):
            return Stretch(0, self.samples)
        loud = np.flatnonzero(self.frames >= ACTIVE * np.quantile(self.frames, 0.95))
        if not len(loud):
            return Stretch(0, self.samples)
        guard = round(GUARD * self.rate)
        start = 0 if loud[0] == 0 else int(loud[0]) * self.frame + guard
        stop = self.samples if loud[-1] >= len(self.frames) - 1 else (int(loud[-1]) + 1) * self.frame - guard
        return Stretch(start, max(start, stop))

    def drift(self) -> float:
        """The share by which the level of a second of the signal differs from that of another."""
        active, second = self.active(), round(1 / FRAME)
        frames = self.frames[-(-active.start // self.frame) : active.stop // self.frame]
        count = len(frames) // second
        if count < 2:
            return 0.0
        levels = np.sqrt((frames[: count * second].reshape(count, second) ** 2).mean(axis=1))
        return float(levels.max() / levels.min() - 1) if levels.min() > 0 else 0.0

    def muted(self) -> float:
        """The share of the recording that is digital zeros for a whole frame."""
        return float((self.frames == 0).mean()) if len(self.frames) else 0.0

    def is_clipped(self) -> bool:
        return self.flat_runs > 0

    def is_normalised(self) -> bool:
        """Does the recording's peak lie where a program puts it that turns recordings up to one level?"""
        step = min(self.step, COARSEST)
        below, above = (max(steps * step, FINEST) for steps in AT_ROUND)
        peaks = (*(10 ** (-level / 20) for level in ROUND_LEVELS), *ROUND_SHARES)
        return any(-below <= self.highest - peak <= above for peak in peaks)

    @property
    def highest(self) -> float:
        """The peak by which its recording was turned up, if it was."""
        return self.loudest or self.peak

    def is_coarse(self) -> bool:
        """Are its steps those of a file of few bits, in which any wave looks flat?"""
        return 0 < self.coarse_step < max(COARSE_SILENCE, self.peak / 4)

    def dropouts(self) -> list[float]:
        """Seconds at which runs of exact zeros within the signal begin."""
        active = self.active()
        return [at / self.rate for at in self.zero_runs if active.start <= at < active.stop]


class Surveyor:
    """Collects a Survey of each channel from blocks of shape (samples, channels)."""

    def __init__(self, rate: int, channels: int):
        if rate <= 0 or channels <= 0:
            raise ChecksError("A recording has a rate and a channel.", argument="rate", code="empty")
        self.rate, self.channels = rate, channels
        self.frame = round(rate * FRAME)
        self.samples = 0
        self.sums = np.zeros(channels)
        self.extremes = [_Extremes() for _ in range(channels)]
        self.zeros = [_Zeros(max(FLAT_RUN, round(ZERO_RUN * rate))) for _ in range(channels)]
        self.squares: list[np.ndarray] = []
        self.means: list[np.ndarray] = []
        self.rest = np.zeros((channels, 0))

    def add(self, block: np.ndarray) -> None:
        """Take the next samples. Raises ChecksError for samples that are no numbers."""
        columns = np.ascontiguousarray(block.T)
        with np.errstate(over="ignore", invalid="ignore"):
            sums = columns.sum(axis=1)
        if not np.isfinite(sums).all():  # what is no number makes its sum none
            raise _no_numbers()
        self.sums += sums
        for channel, column in enumerate(columns):
            self.extremes[channel].add(column)
            self.zeros[channel].add(column, self.samples)
            if self.extremes[channel].peak > LOUDEST:
                raise _no_numbers()
        self.samples += len(block)
        self._add_frames(columns)

    def _add_frames(self, columns: np.ndarray) -> None:
        joined = np.concatenate([self.rest, columns], axis=1)
        count = joined.shape[1] // self.frame
        whole = joined[:, : count * self.frame].reshape(self.channels, count, self.frame)
        self.squares.append(np.einsum("cfs,cfs->fc", whole, whole) / self.frame)
        self.means.append(whole.mean(axis=2).T)
        self.rest = joined[:, count * self.frame :].copy()

    def finish(self) -> tuple[Survey, ...]:
        """One Survey a channel. Raises ChecksError for a recording without samples."""
        if not self.samples:
            raise ChecksError("The recording is empty.", argument="block", code="empty")
        surveys = [self._survey(channel) for channel in range(self.channels)]
        loudest = max(surveys, key=lambda survey: survey.peak)
        shared = 0.0 if loudest.is_clipped() else loudest.peak  # full scale says nothing of the other channel
        return tuple(replace(survey, loudest=shared) for survey in surveys)

    def _survey(self, channel: int) -> Survey:
        extremes = self.extremes[channel]
        mean = float(self.sums[channel] / self.samples)
        frames = self._frames(channel, mean)
        runs = tuple(self.zeros[channel].starts)
        flat, side, step, coarse = extremes.flat_runs, extremes.flat_side, extremes.step, extremes.coarse_step
        return Survey(self.rate, self.samples, extremes.peak, mean, frames, flat, runs, step, side, coarse)

    def _frames(self, channel: int, mean: float) -> np.ndarray:
        """Direct current that a card adds is no level: it would pass for signal before and after the signal."""
        squares = np.concatenate(self.squares)[:, channel]
        about_mean = squares - 2 * mean * np.concatenate(self.means)[:, channel] + mean**2
        return np.where(squares == 0, 0.0, np.sqrt(np.maximum(about_mean, 0.0)))


def _no_numbers() -> ChecksError:
    return ChecksError("The recording holds samples that are no numbers.", argument="block", code="not finite")


class _Extremes:
    """The peak, and how often the signal lay flat at one of its extremes.

    The top of a slow sine also shows equal samples, a step or two of the converter above their neighbours: a run counts
    only where the signal leaves it by a jump. The converter's step is the least change seen, whatever the file says.
    """

    def __init__(self):
        self.tops = {-1: 0.0, 1: 0.0}
        self.runs = {-1: 0, 1: 0}
        self.step, self.least_change, self.is_in_steps = COARSEST, np.inf, True
        self.seen = 0

    def add(self, column: np.ndarray) -> None:
        if self.seen < MOST_STEPS_READ:
            changes = np.abs(np.diff(column))
            self.least_change = min(self.least_change, float(changes[changes > 0].min(initial=np.inf)))
            if COARSEST < self.least_change < np.inf:
                turns = changes / self.least_change
                self.is_in_steps &= bool((np.abs(turns - np.round(turns)) < 0.01).all())
            self.step = min(self.step, self.least_change)
            self.seen += int(np.count_nonzero(changes))
        for side in (-1, 1):
            top = max(0.0, float(column.max(initial=0.0)) if side > 0 else -float(column.min(initial=0.0)))
            if top > self.tops[side]:
                self.tops[side], self.runs[side] = top, 0
            if top > 0 and top == self.tops[side]:
                self.runs[side] += _count_flat_tops(side * column, top, self.step)

    @property
    def peak(self) -> float:
        return max(self.tops.values())

    @property
    def coarse_step(self) -> float:
        return self.least_change if self.is_in_steps and COARSEST < self.least_change < np.inf else 0.0

    @property
    def flat_runs(self) -> int:
        return sum(self.runs[side] for side in self._flat_sides)

    @property
    def flat_side(self) -> int:
        return self._flat_sides[0] if len(self._flat_sides) == 1 else 0

    @property
    def _flat_sides(self) -> list[int]:
        return [side for side, top in self.tops.items() if self.runs[side] and top >= LEAST_TOP * self.peak]


def _count_flat_tops(column: np.ndarray, top: float, step: float) -> int:
    """Those that lie flat to the last step; or within the dither of a file saved again, where they are many."""
    near = np.flatnonzero(column >= top - DITHERED * step)
    flat = _count_runs(column, near[column[near] == top], top, JUMP * step, 0.0)
    dithered = 0 if flat else _count_runs(column, near, top, FAR * step, 0.5)
    return flat or (dithered if dithered >= MANY else 0)


def _count_runs(column: np.ndarray, places: np.ndarray, top: float, jump: float, away: float) -> int:
    """Runs of FLAT_RUN places or more in a row, on both sides of which the column lies more than `jump` below `top`, at
    the next sample or at `away` of the run's length."""
    if not len(places):
        return 0
    ends = np.flatnonzero(np.diff(places) > 1)
    starts, stops = places[np.r_[0, ends + 1]], places[np.r_[ends, len(places) - 1]] + 1
    inside = (stops - starts >= FLAT_RUN) & (starts > 0) & (stops < len(column))
    starts, stops = starts[inside], stops[inside]
    beyond = np.maximum(1, ((stops - starts) * away).astype(int))
    before, after = np.maximum(starts - beyond, 0), np.minimum(stops + beyond, len(column)) - 1
    fall = np.minimum(top - column[before], top - column[after])
    return int((fall > jump).sum())


class _Zeros:
    """Where runs of exact zeros begin, also across blocks."""

    def __init__(self, shortest: int):
        self.shortest = shortest
        self.starts: list[int] = []
        self.running = 0  # zeros at the end of the block before

    def add(self, column: np.ndarray, offset: int) -> None:
        zero = column == 0
        if not zero.any():
            self.running = 0
            return
        starts, lengths = _runs(zero)
        for start, length in zip(starts, lengths, strict=True):
            before = self.running if start == 0 else 0
            if length + before >= self.shortest > before:
                self.starts.append(offset + int(start) - before)
        ends_in_zeros = len(starts) and starts[-1] + lengths[-1] == len(column)
        self.running = int(lengths[-1]) + (self.running if starts[-1] == 0 else 0) if ends_in_zeros else 0


def _runs(mask: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Starts and lengths of the runs of true, each of shape (runs,)."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], mask, [False]]).astype(np.int8)))
    return edges[::2], edges[1::2] - edges[::2]
