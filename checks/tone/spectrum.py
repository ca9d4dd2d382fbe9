"""The power spectrum of a recording, averaged over overlapping segments as they come (Welch, 1967).

Each segment is seen through a flat-top window, so that the bin nearest to a tone shows its level within 0.003 dB
wherever the tone lies. The turn of phase from segment to segment gives its exact frequency.
"""

import math
from dataclasses import dataclass, field

import numpy as np

from checks.errors import ChecksError
from checks.tone.windows import FLAT_TOP, Window

LONGEST, SHORTEST = 1 << 18, 1 << 12  # samples of a segment
FEWEST = 3  # segments a recording is split into
SECONDS = 2.5  # a segment need not be longer: bins of 0.4 Hz
FLOOR_EVERY = 48  # bins, of which the median is a segment's floor
NEAR = 4  # bins on each side of a tracked tone whose phases are kept


def segment_length(samples: int, rate: int) -> int:
    """The power of two to use for a recording. Raises ChecksError for one too short to be split."""
    fits = samples // 2
    if fits < SHORTEST:
        raise ChecksError("The recording is too short.", argument="samples", code="too short")
    longest = min(fits, LONGEST, max(SHORTEST, round(SECONDS * rate)))
    return 1 << int(math.log2(longest))


@dataclass(frozen=True)
class Tracked:
    """Complex bins near one frequency: `bins` of shape (segments, width), the first of which is bin `first`."""

    first: int
    bins: np.ndarray = field(repr=False)


@dataclass(frozen=True)
class Spectrum:
    """Mean squares of one channel, scaled so that a bin's value is the mean square of a tone there.

    `power` has the shape (length / 2 + 1,); `segments` were averaged, `hop` samples apart.
    """

    rate: int
    length: int
    segments: int
    hop: int
    power: np.ndarray = field(repr=False)
    tracked: tuple[Tracked, ...] = field(repr=False, default=())
    window: Window = FLAT_TOP
    floors: np.ndarray = field(repr=False, default_factory=lambda: np.zeros(0))  # mean squares, one a segment

    @property
    def bin_width(self) -> float:
        """Hertz between two bins."""
        return self.rate / self.length

    @property
    def hertz(self) -> np.ndarray:
        return np.arange(len(self.power)) * self.bin_width

    @property
    def half_lobe(self) -> float:
        """Hertz on each side of a tone over which the window spreads it."""
        return self.window.half_lobe * self.bin_width

    @property
    def density(self) -> np.ndarray:
        """Mean square per hertz."""
        return self.power / (self.window.noise_bandwidth * self.bin_width)

    @property
    def disturbance(self) -> tuple[float, float]:
        """How many times its quietest segment's noise the loudest segment has, and the mean square of that over all
        frequencies: clicks, gaps and joints spread over the whole of one segment."""
        if len(self.floors) < 2:
            return 1.0, 0.0
        loudest = float(self.floors.max())
        over_all = loudest * len(self.power) / self.window.noise_bandwidth
        return loudest / max(float(self.floors.min()), 1e-300), over_all

    @property
    def averages(self) -> float:
        """Independent segments' worth: half-overlapping flat-top segments share almost nothing."""
        return float(self.segments)

    def find_bin(self, hertz: float) -> int:
        return round(hertz / self.bin_width)


class SpectrumMaker:
    """Averages a Spectrum of each channel from blocks of shape (samples, channels)."""

    def __init__(self, rate: int, channels: int, length: int, track: tuple[float, ...] = ()):
        self.rate, self.channels, self.length = rate, channels, length
        self.hop = length // 2
        self.window = FLAT_TOP.samples(length)
        self.scale = math.sqrt(2) / (length * FLAT_TOP.coherent_gain)
        self.power = np.zeros((channels, length // 2 + 1))
        self.slices = [self._slice(hertz) for hertz in track if hertz < rate / 2]
        self.kept: list[list[list[np.ndarray]]] = [[[] for _ in self.slices] for _ in range(channels)]
        self.floors: list[list[float]] = [[] for _ in range(channels)]
        self.segments = 0
        self.early, self.late = np.empty((channels, self.hop)), np.empty((channels, self.hop))  # halves of a segment
        self.filled, self.has_early = 0, False
        self.seen = np.empty(length)  # one channel of a segment, through the window
        self.bins = np.empty(
            self.hop + 1, dtype=complex
        )  # of it, allocated once: each new one would cost as much as its FFT
        self.squares = np.empty((2, self.hop + 1))

    def _slice(self, hertz: float) -> slice:
        centre = round(hertz * self.length / self.rate)
        return slice(max(0, centre - NEAR), min(self.length // 2 + 1, centre + NEAR + 1))

    def add(self, block: np.ndarray) -> None:
        """Take the next samples."""
        at = 0
        while at < len(block):
            taken = block[at : at + self.hop - self.filled]
            self.late[:, self.filled : self.filled + len(taken)] = taken.T
            self.filled, at = self.filled + len(taken), at + len(taken)
            if self.filled == self.hop:
                if self.has_early:
                    self._add_segment()
                self.early, self.late = self.late, self.early
                self.filled, self.has_early = 0, True

    def _add_segment(self) -> None:
        for channel in range(self.channels):
            np.multiply(self.early[channel], self.window[: self.hop], out=self.seen[: self.hop])
            np.multiply(self.late[channel], self.window[self.hop :], out=self.seen[self.hop :])
            bins = np.fft.rfft(self.seen, out=self.bins)
            power, imaginary = self.squares
            np.square(bins.real, out=power)
            power += np.square(bins.imag, out=imaginary)
            self.power[channel] += power
            self.floors[channel].append(float(np.median(power[::FLOOR_EVERY])))
            for bins_near, near in zip(self.kept[channel], self.slices, strict=True):
                bins_near.append(bins[near].copy())
        self.segments += 1

    def finish(self) -> tuple[Spectrum, ...]:
        """One Spectrum a channel. Raises ChecksError when no segment was filled."""
        if not self.segments:
            raise ChecksError("The recording is too short.", argument="samples", code="too short")
        return tuple(self._spectrum(channel) for channel in range(self.channels))

    def _spectrum(self, channel: int) -> Spectrum:
        power = self.power[channel] * (self.scale**2 / self.segments)
        power[[0, -1]] /= 2
        tracked = tuple(
            Tracked(near.start, np.array(bins_near) * self.scale)
            for near, bins_near in zip(self.slices, self.kept[channel], strict=True)
        )
        floors = np.array(self.floors[channel]) * self.scale**2
        return Spectrum(self.rate, self.length, self.segments, self.hop, power, tracked, floors=floors)


def compute_spectrum(samples: np.ndarray, rate: int, track: tuple[float, ...] = ()) -> Spectrum:
    """The Spectrum of one channel held in memory, shape (samples,)."""
    maker = SpectrumMaker(rate, 1, segment_length(len(samples), rate), track)
    maker.add(np.asarray(samples, dtype=float)[:, None])
    return maker.finish()[0]
