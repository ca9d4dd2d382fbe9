"""Whether the noise of a recording is as steady from moment to moment as noise is.

Lossy compression gives every band of every frame as many steps as it can spare, and none where nobody would hear it: a
band's noise comes and goes. Noise that nobody touched has band powers that follow the gamma distribution, whose
logarithms differ from one frame to the next by a known amount; what is loud in most bands at once is a crackle, and a
slow drift makes no difference between neighbours.
"""

import math
from dataclasses import dataclass, field

import numpy as np
from scipy.special import polygamma

FRAME = 0.05  # seconds: whole turns of what comes with twice the mains frequency, of 50 and of 60 Hz
LONGEST = 12.0  # seconds that are looked at: as many frames as are needed
BAND = 500.0  # hertz of a band
LOWEST, HIGHEST = 1000.0, 0.48  # hertz, and of the sample rate
ALIKE = (0.014, 0.114, 0.4, 0.8, 1.0, 0.8, 0.4, 0.114, 0.014)  # correlation of neighbours, squared Hann window
FILTERS = 19_500.0  # hertz, above which the edges of converters' and resamplers' filters lie
LEAKS = 1e-13  # of all power, that this window may show in another band
HALF = 0.6745  # of the standard deviation, the median of the magnitudes of a normal distribution
MEDIAN_DOUBT = 1.166 * 1.25  # times 1/sqrt(n), that this median is uncertain by; neighbouring differences share a frame
SURE = 6.0  # of these, from which noise is not steady: chance is 1e-9 a band
LEAST = 1.45  # times the spread of noise
CRACKLE = 2.0  # times its usual power, in the middle band, from which a frame is left out
FEWEST = 20  # pairs of frames


@dataclass
class NoiseTexture:
    """Band powers of every channel, collected from blocks of shape (samples, channels)."""

    rate: int
    channels: int
    powers: list[np.ndarray] = field(default_factory=list)

    def __post_init__(self):
        self.frame = round(self.rate * FRAME)
        self.wanted = round(LONGEST / FRAME)
        self.window = np.hanning(self.frame)[:, None] ** 2  # nothing of a tone leaks far
        self.rest = np.zeros((0, self.channels))
        width = self.rate / self.frame
        self.bins = round(BAND / width)
        self.first = round(LOWEST / width)
        self.bands = int((HIGHEST * self.rate / width - self.first) // self.bins)
        self.sums = np.zeros((self.bands, self.bins, self.channels))  # of every bin's power over the frames

    def add(self, block: np.ndarray) -> None:
        if self.wanted <= 0:
            return
        joined = np.concatenate([self.rest, block])
        count = min(len(joined) // self.frame, self.wanted)
        frames = joined[: count * self.frame].reshape(count, self.frame, self.channels)
        bins = np.fft.rfft(frames * self.window, axis=1)[:, self.first : self.first + self.bands * self.bins]
        power = (bins.real**2 + bins.imag**2).reshape(count, self.bands, self.bins, self.channels)
        self.powers.append(power.mean(axis=2))
        self.sums += power.sum(axis=0)
        self.wanted -= count
        self.rest = joined[count * self.frame :].copy()

    def unrest(self, channel: int) -> float:
        """How many times noise's spread the most unsteady band has; 0 where chance alone may explain it."""
        powers = np.concatenate(self.powers)[..., channel] if self.powers else np.zeros((0, self.bands))
        if len(powers) <= FEWEST:
            return 0.0
        powers = np.maximum(powers, max(1e-30, LEAKS * float(powers.sum(axis=1).max())))
        loudness = np.median(powers / np.median(powers, axis=0), axis=1)
        quiet = loudness < CRACKLE
        pairs = quiet[1:] & quiet[:-1]
        if pairs.sum() < FEWEST:
            return 0.0
        moved = np.abs(np.diff(np.log(powers), axis=0))[pairs]
        spread = float((np.median(moved, axis=0) / (HALF * np.sqrt(2 * polygamma(1, self._shapes(channel))))).max())
        least = max(LEAST, 1 + SURE * MEDIAN_DOUBT / math.sqrt(len(moved)))
        return spread if spread > least else 0.0

    def _shapes(self, channel: int) -> np.ndarray:
        """The shape of the gamma distribution of each band's power: independent bins, of which those count most that
        have most of it (Welch and Satterthwaite). At the edge of a converter's filter a few have nearly all."""
        sums = self.sums[..., channel]
        together = np.apply_along_axis(np.convolve, 1, sums, np.square(ALIKE), "same")
        shapes = sums.sum(axis=1) ** 2 / np.maximum((sums * together).sum(axis=1), 1e-300)
        tops = (self.first + self.bins * np.arange(1, self.bands + 1)) * self.rate / self.frame
        return np.where(tops > FILTERS, shapes, self.bins / sum(np.square(ALIKE)))
