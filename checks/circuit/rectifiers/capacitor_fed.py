"""Supplies that a winding feeds through a capacitor: half-wave doublers and bias supplies.

A doubler's capacitor C is charged through one diode in one half cycle and stands in series with the winding in the
next, when the other diode fills the reservoir C2. Both pass the same mean current I. Without the sources' ohms C gives
up I/fC of the 2E there are in each cycle; with a C that holds its voltage each diode is a half-wave rectifier of half
the output. Where both matter the pulses that ohms make longer let C and C2 sag less, and the losses add as squares:

    I = h(U/2),   V = 2(E - drop) - √((2(E - drop) - U)² + (I/f (1/C + 1/4C2))²)

(h: mean current of one half-wave rectifier, conduction.py). Both ends are exact; between them it keeps within 1 % of a
simulation in time (the square and C2's part are fitted to such).

A bias supply has a resistor R in place of the first diode. Its diode, from the source's side E sin θ behind C and R,
holds R at W = V + drop while it conducts, passes E/R (q cos θ - w) with w = W/E and q = ωRC until that is nothing, and
leaves R to the first-order circuit it is with C; the mean over the steady cycle is worked out once for each q.
Resistances of the winding, small against R and C, are left out.

Higher multipliers (tripler, quadrupler) are not calculated.
"""

import math
from dataclasses import dataclass, fields
from functools import lru_cache

import numpy as np

from checks.circuit.rectifiers.banks import Rectifier
from checks.finite import finite_arguments

ROUNDS = 50
KNOTS, ANGLES = 160, 4000
APART = (0.8, 1.0, 1.25)  # of the nominal q, at which a bias supply's curve is worked out


@dataclass(frozen=True)
class CapacitorFed(Rectifier):
    """What both have: the `coupling` in F at `hertz` of `capacitor`, and currents apart from other rectifiers'."""

    coupling: float = 1e-6
    hertz: float = 50.0
    capacitor: str = ""

    is_by_itself = True  # a doubler conducts in both half cycles

    @property
    def pulses_between(self):
        return self.reservoir

    def alike(self, other):
        return False


@dataclass(frozen=True)
class Doubler(CapacitorFed):
    """A half-wave doubler: the rectifier into the reservoir, whose current the charging diode passes as well."""

    def one(self, v, m, drive):
        """(I, dI/dV, W from the winding), each of shape (samples,)."""
        u = self._without_capacitor(v, m, drive)
        amps, slope, watts = self._half(u, m, drive)
        siemens = self.hertz * self.coupling
        by_ohms, by_charge = self._most(m, drive) - u, amps / siemens
        whole = np.maximum(np.hypot(by_ohms, by_charge), 1e-9)
        falls = slope / 2
        rise = np.maximum((by_ohms - by_charge * falls / siemens) / whole, 1e-9)
        return amps, falls / rise, 2 * watts

    def _without_capacitor(self, v, m, drive):
        """U at output `v`, by halving: more of it leaves the diodes less current."""
        most, siemens = self._most(m, drive), self.hertz * self.coupling
        low, high = np.minimum(v, most), np.maximum(v, most)
        for _ in range(ROUNDS):
            middle = (low + high) / 2
            output = most - np.hypot(most - middle, self._half(middle, m, drive)[0] / siemens)
            low, high = np.where(output < v, middle, low), np.where(output < v, high, middle)
        return (low + high) / 2

    def _most(self, m, drive):
        return 2 * (self.peak(m, drive) - self.law_of.drop)

    def _half(self, u, m, drive):
        return super().one(u / 2, m, drive)

    def at_capacitor(self, v, m, drive):
        """V that the charging diode finds at C, and the other beyond it."""
        return self._without_capacitor(v, m, drive) / 2


@dataclass(frozen=True)
class BiasFed(CapacitorFed):
    """A bias supply whose capacitor feeds a resistor of `return_ohms`, which its mean current passes as well."""

    return_ohms: float = 1e5
    return_at: int = 0

    def one(self, v, m, drive):
        """(I, dI/dV, W from the winding), each of shape (samples,)."""
        ohms, peak = self.return_ohms * m[:, self.return_at], np.maximum(self.peak(m, drive), 1e-9)
        q = 2 * math.pi * self.hertz * self.coupling * self.return_ohms
        shift = np.log(m[:, self.return_at]) / math.log(APART[2])
        w = (v + self.law_of.drop) / peak
        below, middle, above = (_read(bias_curve(round(q * share, 6)), w) for share in APART)
        near = [np.where(shift < 0, b - c, c - a) for a, c, b in zip(above, middle, below, strict=True)]
        current, slope = (c - np.abs(shift) * np.where(shift < 0, -d, d) for c, d in zip(middle, near, strict=True))
        amps = np.maximum(current, 0.0) * peak / ohms
        return amps, np.where(current > 0, slope, 0.0) / ohms, amps * np.abs(v)


@lru_cache(maxsize=128)
@finite_arguments
def bias_curve(q: float) -> tuple[np.ndarray, np.ndarray]:
    """(w, I R/E) of a bias supply from well below nothing to where its diode no longer conducts."""
    most = q / math.sqrt(1 + q * q)
    knots = np.linspace(-0.5 * most, most, KNOTS)
    return knots, np.array([_bias_current(w, q) for w in knots[:-1]] + [0.0])


def _bias_current(w: float, q: float) -> float:
    ends = math.acos(w / q)
    angle = ends + np.linspace(0.0, 2 * math.pi, ANGLES)
    steady = (q * q * np.sin(angle) + q * np.cos(angle)) / (1 + q * q)
    across = steady + (w - steady[0]) * np.exp(-(angle - ends) / q)
    again = np.flatnonzero((across[1:] >= w) & (across[:-1] < w))
    if not len(again):
        return 0.0
    n = again[0]
    share = (w - across[n]) / (across[n + 1] - across[n])
    begins = angle[n] + share * (angle[n + 1] - angle[n]) - 2 * math.pi
    return max(0.0, (q * (math.sin(ends) - math.sin(begins)) - w * (ends - begins)) / (2 * math.pi))


def _read(curve, w):
    """(I R/E, its slope) at w."""
    knots, amps = curve
    slopes = np.diff(amps) / np.diff(knots)
    at = np.clip(np.searchsorted(knots, w, side="right") - 1, 0, len(slopes) - 1)
    inside = w < knots[-1]
    return np.where(inside, amps[at] + slopes[at] * (w - knots[at]), 0.0), np.where(inside, slopes[at], 0.0)


@finite_arguments
def through_capacitor(rectifier: Rectifier, kind: type, coupling: float, **more):
    """The same rectifier as a Doubler or BiasFed."""
    own = {f.name: getattr(rectifier, f.name) for f in fields(Rectifier)} | {"farads": 0.0}
    return kind(**own, coupling=coupling, **more)
