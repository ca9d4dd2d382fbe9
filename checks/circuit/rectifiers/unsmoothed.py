"""Rectifiers whose reservoir is not fitted, or open: the mean current that follows the mean volts right behind them.

What hangs there draws on through resistances of R in all to a capacitor further on, if there is one, which holds its
volts. Behind R it sees the mean V of the pulsing point less what the mean current I drops, V - R I, and the rectifier
conducts while the source is above that; so the law of conduction.py counts,

    I = h(V - R I)        with R among the source's ohms.

Without such a capacitor, or where so much is drawn that the point never rests, it follows the source all the time:

    V = 2E/π - drop - Rs I        (half-wave: E/π, half of the drop)

which is a third less than a reservoir would hold, or two thirds of a half-wave one's (textbook relations of an
unsmoothed rectifier). Both laws meet where V = R I.
"""

import math
from dataclasses import dataclass, fields

import numpy as np

from checks.circuit.rectifiers.banks import Rectifier
from checks.circuit.rectifiers.reservoirs import Loop, Loops
from checks.circuit.rectifiers.secondaries import Group, resistance

ROUNDS, HALVINGS = 12, 50


@dataclass(frozen=True)
class Unsmoothed(Rectifier):
    """One half of a rectifier whose `reservoir` port lies where its capacitor ought to be. If another follows, it
    `is_held`, and `behind` are the resistances on the way there, which the source's ohms are counted without."""

    behind: tuple[Group, ...] = ()
    is_held: bool = False

    is_by_itself = True

    def one(self, v, m, drive):
        """(I, dI/dV, W from the winding) of this half, each of shape (samples,)."""
        bare = self._bare(v, m, drive)
        if not self.is_held:
            return bare
        ohms = self._ohms_behind(m)
        held = self._held(v, m, drive, ohms)
        is_bare = v < ohms * bare[0]
        return tuple(np.where(is_bare, one, other) for one, other in zip(bare, held, strict=True))

    def _ohms_behind(self, m):
        """What both halves pass, for each one's current."""
        return self.halves * sum((g.ohms(m) for g in self.behind), np.zeros(len(m)))

    def charging_ohms(self, m):
        return self.source_ohms(m) + sum((g.ohms(m) for g in self.behind), np.zeros(len(m)))

    def floor(self, volts, amps, m):
        return (volts - self._ohms_behind(m) * amps) / self.share if self.is_held else np.zeros_like(volts)

    def always_conducts(self, volts, amps, m):
        return self.floor(volts, amps, m) <= 0

    def _held(self, v, m, drive, ohms):
        """By Newton from no current on, which comes from below and never beyond."""
        own = {f.name: getattr(self, f.name) for f in fields(Rectifier)}
        beside = Rectifier(**own | {"groups": (*self.groups, *self.behind)})
        amps = np.zeros_like(v)
        for _ in range(ROUNDS):
            drawn, slope, watts = beside.one(v - ohms * amps, m, drive)
            steep = np.maximum(1 + ohms * slope, 1e-6)
            amps = amps - (amps - drawn) / steep
        return amps, slope / steep, watts

    def _bare(self, v, m, drive):
        """By halving: more current leaves less for itself."""
        peak, rs = np.maximum(self.peak(m, drive), 1e-9), self.source_ohms(m)
        k = None if self.law_of.perveance is None else self.law_of.perveance * m[:, self.strength]
        spare = self.halves * peak / math.pi - self.law_of.drop * self.halves / 2 - v
        low, high = np.zeros_like(spare), np.maximum(spare, 0.0) / rs
        if k is None:
            amps = high
        else:
            for _ in range(HALVINGS):
                middle = (low + high) / 2
                more = spare - rs * middle - (middle / k) ** (2 / 3) > 0
                low, high = np.where(more, middle, low), np.where(more, high, middle)
            amps = (low + high) / 2
        valve = 0.0 if k is None else 2 / 3 * k ** (-2 / 3) * np.maximum(amps, 1e-9) ** (-1 / 3)
        slope = np.where(spare > 0, -1 / (rs + valve), 0.0)
        return amps / self.halves, slope / self.halves, amps / self.halves * peak * math.pi / 4


def unsmoothed(rectifier: Rectifier, loops: Loops, ought: Loop, beyond: Loop | None) -> Unsmoothed:
    """The same rectifier without the capacitor of the loop `ought`; the next one, if any, is that of `beyond`."""
    own = {f.name: getattr(rectifier, f.name) for f in fields(Rectifier)} | {"farads": beyond.farads if beyond else 0.0}
    return Unsmoothed(**own, behind=_behind(loops, ought, beyond), is_held=beyond is not None)


def _behind(loops: Loops, ought: Loop, beyond: Loop | None) -> tuple[Group, ...]:
    """What the point of a missing capacitor passes its pulses on through: resistances side by side where each is one,
    else those in a row to the next capacitor."""
    series = beyond.series if beyond else ()
    beside = loops.beside(ought.tail if loops.quiet(ought.head) else ought.head)
    if len(series) != 1 or series[0] not in beside:
        return tuple(map(resistance, series))
    return (Group((series[0].ref, "", ought.tail), tuple((r.ohms, r.parameter) for r in beside)),)
