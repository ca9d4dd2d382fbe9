"""Windows for spectra, as sums of cosines.

The flat-top windows are those of Heinzel, Rüdiger and Schilling, "Spectrum and spectral density estimation by the DFT"
(2002); their figures are held in tests/references and, for HFT144D (coefficients from memory), worked out anew there.
"""

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

COSINES = {
    "rectangle": (1.0,),
    "hann": (0.5, 0.5),
    "blackman": (0.42, 0.5, 0.08),
    "HFT70": (1, 1.90796, 1.07349, 0.18199),
    "HFT90D": (1, 1.942604, 1.340318, 0.440811, 0.043097),
    "HFT116D": (1, 1.9575375, 1.4780705, 0.6367431, 0.1228389, 0.0066288),
    "HFT144D": (1, 1.96760033, 1.57983607, 0.81123644, 0.22583558, 0.02773848, 0.00090360),
}


@dataclass(frozen=True)
class Window:
    """A window of `name`; `half_lobe` is half the width of its main lobe in bins."""

    name: str

    @property
    def half_lobe(self) -> int:
        return len(COSINES[self.name])

    def samples(self, length: int) -> np.ndarray:
        """The periodic window, shape (length,)."""
        return _samples(self.name, length)

    @cached_property
    def coherent_gain(self) -> float:
        return COSINES[self.name][0]

    @cached_property
    def noise_bandwidth(self) -> float:
        """Equivalent noise bandwidth in bins."""
        first, *rest = COSINES[self.name]
        return 1 + sum((c / first) ** 2 for c in rest) / 2

    def gain_at(self, bins: float, length: int = 4096) -> float:
        """What a tone `bins` away from a bin's centre shows there, as a share of its amplitude."""
        turn = np.exp(2j * math.pi * bins * np.arange(length) / length)
        return float(abs(self.samples(length) @ turn) / (length * self.coherent_gain))


@lru_cache(maxsize=8)
def _samples(name: str, length: int) -> np.ndarray:
    angle = 2 * math.pi * np.arange(length) / length
    window = sum((-1) ** k * c * np.cos(k * angle) for k, c in enumerate(COSINES[name]))
    window.setflags(write=False)
    return window


FLAT_TOP = Window("HFT144D")
