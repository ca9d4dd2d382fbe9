"""Full-wave rectifiers into a choke: the mean current that follows the volts before the choke.

While the choke carries current all the time one half of the rectifier conducts at any moment, and the mean volts before
the choke are

    V = 2E/π - drop - Rs I        (E the winding's open peak, Rs what its current passes on the way)

Below the critical current the choke runs dry once each half cycle and V rises, at no load to the peak. Its least ripple
current has the size of the mean there, so that with the second harmonic alone, 4E/3π (of the series of |sin|),

    L = R/(6 π f),   I = V/(6 π f L)

(F. Langford-Smith, Radio Designer's Handbook, 4th ed. 1953, chapter 30: R/1130 at 60 Hz and R/942 at 50 Hz, from
memory). All harmonics together put it at 0.99 of that. Below it currents are an ideal choke's between ideal diodes:
right in the trend and at both ends. Ratings are judged by them; no reading is given.

What another rectifier on the same transformer takes off the primary meanwhile is left out.
"""

import math
from dataclasses import dataclass, fields
from functools import cache

import numpy as np

from checks.circuit.rectifiers.banks import Rectifier
from checks.finite import finite_arguments

KNOTS = 120
ROUNDS = 60


@cache
def dry_curve() -> tuple[np.ndarray, np.ndarray]:
    """(I ωL/E, V/E) of an ideal choke that runs dry, from no current to where it no longer does."""
    ratios = np.sin(np.linspace(math.pi / 2, math.asin(2 / math.pi), KNOTS))
    return np.array([_dry_current(r) for r in ratios]), ratios


def _dry_current(ratio: float) -> float:
    """Mean of what flows while V/E is `ratio`: it begins where the source passes V and ends at nothing, or half a cycle
    on."""
    start = math.asin(ratio)
    angle = start + np.linspace(0.0, math.pi, 4001)
    turned = np.where(angle <= math.pi, -np.cos(angle), 2 + np.cos(angle))  # the integral of |sin|
    amps = math.cos(start) + turned - ratio * (angle - start)
    ends = np.flatnonzero(amps[1:] <= 0)
    amps[(ends[0] + 1 if len(ends) else len(amps)) :] = 0.0
    return float(np.trapezoid(amps, angle) / math.pi)


@dataclass(frozen=True)
class ChokeFed(Rectifier):
    """One half of a full-wave rectifier into the choke `choke`; its `reservoir` port lies before the choke.

    `henries` are the least the choke's tolerance allows. Both halves carry half of the mean current each.
    """

    henries: float = 1.0
    hertz: float = 50.0
    choke: str = ""

    is_by_itself = True  # it conducts all the time

    def one(self, v, m, drive):
        """(I, dI/dV, W from the winding) of this half, each of shape (samples,)."""
        peak, rs = np.maximum(self.peak(m, drive), 1e-9), self.source_ohms(m)
        k = None if self.law_of.perveance is None else self.law_of.perveance * m[:, self.strength]
        reactance = 2 * math.pi * self.hertz * self.henries
        spare = peak - v - self.law_of.drop
        low, high = np.zeros_like(spare), np.maximum(spare, 0.0) / rs
        for _ in range(ROUNDS):  # more current leaves less for itself: halve the interval
            middle = (low + high) / 2
            more = self._volts_left(middle, v, peak, rs, k, reactance) > 0
            low, high = np.where(more, middle, low), np.where(more, high, middle)
        amps = np.where(spare > 0, (low + high) / 2, 0.0)
        slope = np.where(spare > 0, -1 / self._steepness(amps, peak, rs, k, reactance), 0.0)
        return amps / 2, slope / 2, amps * _ratio(amps * reactance / peak) * peak / 2

    def _volts_left(self, amps, v, peak, rs, k, reactance):
        valve = 0.0 if k is None else (amps / k) ** (2 / 3)
        return peak * _ratio(amps * reactance / peak) - v - self.law_of.drop - rs * amps - valve

    def _steepness(self, amps, peak, rs, k, reactance):
        return rs + _valve_ohms(amps, k) - reactance * _slope(amps * reactance / peak)

    def passing_ohms(self, amps, m):
        """Ohms (samples,) that a small change of the choke's current of `amps` passes on its way from the winding."""
        k = None if self.law_of.perveance is None else self.law_of.perveance * m[:, self.strength]
        return self.source_ohms(m) + _valve_ohms(amps, k)

    def critical_amps(self, m, drive):
        """The current (samples,) from which the choke carries it all the time, by the rule R/(6 π f)."""
        return 2 / math.pi * self.peak(m, drive) / (6 * math.pi * self.hertz * self.henries)

    def mean_square(self, amps):
        """Mean of i² (samples,) in this half: the whole current, half of the time."""
        return 2 * amps**2

    def alike(self, other):
        return isinstance(other, ChokeFed) and self.choke == other.choke and super().alike(other)


def _valve_ohms(amps, k):
    """dV/dI of V = (I/K)^(2/3); nothing of a diode."""
    return 0.0 if k is None else 2 / 3 * k ** (-2 / 3) * np.maximum(amps, 1e-9) ** (-1 / 3)


@finite_arguments
def choke_fed(rectifier: Rectifier, choke, hertz: float) -> ChokeFed:
    """The same half of a rectifier, into a choke (a part of the list)."""
    own = {f.name: getattr(rectifier, f.name) for f in fields(Rectifier)}
    return ChokeFed(**own, henries=choke.value * (1 - choke.tolerance.minus), hertz=hertz, choke=choke.ref)


def _ratio(x):
    """V/E of an ideal choke at I ωL/E."""
    return np.interp(x, *dry_curve())


def _slope(x):
    amps, ratios = dry_curve()
    slopes = np.append(np.diff(ratios) / np.diff(amps), 0.0)
    return slopes[np.clip(np.searchsorted(amps, x, side="right") - 1, 0, len(slopes) - 1)]
