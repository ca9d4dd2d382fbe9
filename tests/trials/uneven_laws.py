"""Laws of the second bench: a real grid's winding is uneven.

A valve here is two in parallel, most of it with its published amplification and a part with less, so that its current
ends slowly (the "island effect"; F. Langford-Smith, Radio Designer's Handbook, 4th ed. 1953, chapter 2, from memory).
"""

from dataclasses import dataclass

import numpy as np

# Published points: Va, Vg, Ia, gm, mu; of pentodes Vs, Is and the screen's mu as well. RCA 12AX7, 12AU7 and 6V6GT at
# 250 V; the screen's mu from memory.
TRIODES = {"ECC83": (250, -2.0, 1.2e-3, 1.6e-3, 100), "ECC82": (250, -8.5, 10.5e-3, 2.2e-3, 17)}
PENTODES = {"6V6GT": (250, 250, -12.5, 45e-3, 4.5e-3, 4.1e-3, 9.0)}
AMPERES = {"ECC83": 0.3, "ECC82": 0.3, "6V6GT": 0.45}  # of heaters at 6.3 V
UNEVEN, SPARSE = 0.15, 0.55  # of a valve's area, whose winding is wider; its amplification beside the rest's


def _power(drive, of):
    """drive^of where it is above nothing, within a few hundredths of a volt; and its slope."""
    root = np.sqrt(drive * drive + 0.02**2)
    plus, slope = (drive + root) / 2, (1 + drive / root) / 2
    return plus**of, of * plus ** (of - 1) * slope


def _areas(mu):
    return ((1 - UNEVEN, mu), (UNEVEN, SPARSE * mu))


def _space(volts, vg, mu, contact):
    """Current of both areas for a perveance of one, and its slopes against the pulling volts and the grid."""
    amps = by_volts = by_grid = 0.0
    for share, own in _areas(mu):
        i, d = _power(vg + contact + volts / own, 1.5)
        amps, by_volts, by_grid = amps + share * i, by_volts + share * d / own, by_grid + share * d
    return amps, by_volts, by_grid


def meet_point(volts, vg, amps, gm, mu):
    """(perveance, contact) of the law that meets a published point, by halving."""
    low, high = -vg - volts / mu + 0.01, -vg + 0.5 * volts
    for _ in range(80):
        middle = (low + high) / 2
        i, _by_volts, by_grid = _space(volts, vg, mu, middle)
        low, high = (middle, high) if by_grid / i > gm / amps else (low, middle)
    return amps / i, middle


@dataclass(eq=False)
class Law:
    """One system of a valve: volts of its electrodes against the cathode (..., k) to currents and slopes."""

    perveance: float
    mu: float
    contact: float
    gas: float
    share: float = 1.0  # of the current, that an anode well above the screen's volts' knee takes
    has_screen: bool = False

    def __call__(self, v):
        """(anode, [screen,] grid)."""
        va, vg, pull = v[..., 0], v[..., -1], v[..., 1 if self.has_screen else 0]
        amps, by_pull, by_grid = (self.perveance * x for x in _space(pull, vg, self.mu, self.contact))
        knee = 22.0 if self.has_screen else 1.5
        part, slope = (
            self.share * np.tanh(np.maximum(va, 0) / knee),
            np.where(va > 0, self.share / knee / np.cosh(np.clip(va / knee, 0, 300)) ** 2, self.share / knee),
        )
        part = np.where(va > 0, part, va * self.share / knee * 1e-3)
        slope = np.where(va > 0, slope, self.share / knee * 1e-3)
        grid, by_vg = _power(vg + 0.4, 1.5)
        i, d = np.zeros(v.shape), np.zeros((*v.shape, v.shape[-1]))
        i[..., 0], d[..., 0, 0], d[..., 0, -1] = amps * part, amps * slope, by_grid * part
        d[..., 0, 1 if self.has_screen else 0] += by_pull * part
        if self.has_screen:
            i[..., 1] = amps * (1 - part)
            d[..., 1, 0], d[..., 1, 1], d[..., 1, 2] = -amps * slope, by_pull * (1 - part), by_grid * (1 - part)
        i[..., -1] = 4e-4 * grid - self.gas * i[..., 0]
        d[..., -1, :] = -self.gas * d[..., 0, :]
        d[..., -1, -1] += 4e-4 * by_vg
        return i, d


def _conducts(from_volts, siemens, width):
    """A diode as a bent line: `siemens` from about `from_volts` on."""

    def law(v):
        bent = (v[..., 0] - from_volts) / width
        soft = np.where(bent > 30, bent, np.log1p(np.exp(np.minimum(bent, 30))))
        slope = 1 / (1 + np.exp(-np.clip(bent, -300, 300)))
        return (siemens * width * soft)[..., None], (siemens * slope)[..., None, None]

    return law


SILICON, OXIDE = _conducts(0.68, 1.5, 0.03), _conducts(1.4, 3e-3, 0.1)
