"""A bias supply through a capacitor on a winding that other rectifiers load: their pulses flatten its tops.

The capacitor passes no direct current. Pulses of the other half cycle leave the tops that the bias diode takes as they
are, and move the winding's mean by R times their mean current I (R: the ohms of the winding that both pass), so that
those tops stand E - RI from it: within 0.5 % of a simulation in time. Pulses of the same half cycle flatten the very
tops it takes, by several times as much and by how long each conducts: that is not calculated. What the primary loses is
in the winding's drive already.
"""

from dataclasses import dataclass

import numpy as np

from checks.circuit.rectifiers.banks import Crowd, Rectifier, Twins, _Several
from checks.circuit.rectifiers.capacitor_fed import BiasFed

STEP = 1e-4  # of the fundamental, over which the bias supply's slope is taken
LEAST = 0.1  # of the fundamental: what is left of it, wherever the solver looks


@dataclass(frozen=True)
class LoadedBias(_Several):
    """The others, then the bias supply; `kind` is what the others are together, None for one alone."""

    kind: type | None = None

    @property
    def others(self):
        *rest, _fed = self.members
        return self.kind(tuple(rest)) if self.kind else rest[0]

    def flow(self, u, m, drive):
        fed, count = self.members[-1], len(self.members) - 1
        amps, slope, watts = self.others.flow(u[:, :count], m, drive)
        ohms = np.stack([_common_ohms(fed, other, m) for other in self.members[:-1]], 1)
        whole = np.maximum(fed.peak(m, drive), 1e-9)
        left = np.maximum(1 - (ohms * amps).sum(1) / whole, LEAST)
        own, rise, own_watts = fed.one(u[:, count], m, _driven(drive, fed, left))
        more = (fed.one(u[:, count], m, _driven(drive, fed, left * (1 + STEP)))[0] - own) / (STEP * left * whole)
        slopes = np.zeros((len(u), count + 1, count + 1))
        slopes[:, :count, :count], slopes[:, count, count] = slope, rise
        slopes[:, count, :count] = -more[:, None] * np.einsum("sj,sjk->sk", ohms, slope)
        return (
            np.concatenate((amps, own[:, None]), 1),
            slopes,
            np.concatenate((watts, own_watts[:, None]), 1),
        )


def _driven(drive, fed: Rectifier, left):
    lowered = drive.copy()
    lowered[:, fed.feed] = drive[:, fed.feed] * left
    return lowered


def _common_ohms(fed: Rectifier, other: Rectifier, m):
    keys = {g.key for g in other.groups}
    return sum((g.ohms(m) for g in fed.groups if g.key in keys), np.zeros(len(m)))


def in_one_half_cycle(fed: BiasFed, rectifiers) -> bool:
    """Does another rectifier take the same tops of the same winding?"""
    keys = {g.key for g in fed.groups}
    return any(
        other.polarity == fed.polarity and keys & {g.key for g in other.groups}
        for other in rectifiers
        if type(other) is Rectifier
    )


def shadow(banks: tuple) -> tuple:
    """The banks, each bias supply together with the one whose pulses pass its winding. Their order may change."""
    rest, made = list(banks), []
    for fed in [bank for bank in banks if isinstance(bank, BiasFed)]:
        other = next((bank for bank in rest if bank is not fed and _loads(bank, fed)), None)
        if other is None:
            continue
        rest = [bank for bank in rest if bank is not fed and bank is not other]
        lone = other.members == (other,)
        made.append(LoadedBias((*other.members, fed), kind=None if lone else type(other)))
    return (*rest, *made)


def _loads(bank, fed: BiasFed) -> bool:
    keys = {g.key for g in fed.groups}
    plain = isinstance(bank, Twins | Crowd) or type(bank) is Rectifier
    return (
        plain
        and any(type(r) is Rectifier for r in bank.members)
        and any(g.key in keys for r in bank.members for g in r.groups)
    )
