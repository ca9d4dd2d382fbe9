"""Rectifiers as mean currents that follow their reservoirs: one alone, two that take turns, several that pulse
together.

Rectifiers of one transformer that conduct in the same half cycle meet in what they have in common: the primary's
resistance, and a winding's own. Their currents at each instant are then solved together (the law of each at what the
others' currents leave it), and summed over the pulse by Gauss and Legendre's rule.
"""

from dataclasses import dataclass

import numpy as np

from checks.circuit.rectifiers.conduction import Law, child_current, mean_current
from checks.circuit.rectifiers.secondaries import Group

POINTS, WEIGHTS = np.polynomial.legendre.leggauss(24)
PHASES = 0.5 * (POINTS + 1)
ROUNDS = 25


@dataclass(frozen=True)
class Rectifier:
    """One half-wave rectifier between a winding and its reservoir: a mean current that follows the reservoir's voltage.

    `groups` are the resistances its current passes on its own side, `seen` (ohms, parameter) pairs on the mains side,
    which count by the square of `turns`. `emf` is the winding's open peak at drive 1, `ratio` its parameter, `feed` the
    number of its transformer. `end` draws against `back`; `phase` tells which end of the winding it is, `sign` is 1
    when current leaves there. `share` is the finite reservoir's (see supply.reservoir_share), `series` the references
    of the resistors its pulses pass.
    """

    ref: str
    coil: tuple[str, str]
    feed: int
    source: int
    sink: int
    reservoir: tuple[int, int]
    emf: float
    ratio: int
    groups: tuple[Group, ...]
    turns: float
    seen: tuple[tuple[float, int], ...]
    law_of: Law
    strength: int
    end: int
    back: int
    phase: float
    sign: float
    halves: int = 2
    share: float = 1.0
    farads: float = 0.0
    series: tuple[str, ...] = ()

    name = ""
    coupling = 0.0
    is_by_itself = False  # of its currents those of others in the same half cycle take nothing

    @property
    def members(self):
        return (self,)

    @property
    def ports(self):
        return (self.reservoir,)

    @property
    def currents(self):
        return ((self.source, self.sink),)

    @property
    def polarity(self) -> float:
        """The half cycle in which it conducts."""
        return self.phase * self.sign

    def mains_ohms(self, m):
        return sum(ohms * m[:, p] for ohms, p in self.seen)

    def source_ohms(self, m):
        return sum(g.ohms(m) for g in self.groups) + self.turns**2 * self.mains_ohms(m) + self.law_of.ohms

    def charging_ohms(self, m):
        """What the pulses that fill its capacitor pass in all."""
        return self.source_ohms(m)

    def peak(self, m, drive):
        return self.emf * m[:, self.ratio] * drive[:, self.feed]

    @property
    def pulses_between(self) -> tuple[int, int]:
        """Where its pulses come out of the diodes, and where they go back to the winding."""
        out = self.back if self.sink == self.end else self.sink
        return out, (self.back if self.source == self.end else self.source)

    def floor(self, volts, amps, m):
        """What it conducts above, at `volts` of its port and a mean current of `amps`; each of shape (samples,)."""
        return volts / self.share

    def always_conducts(self, volts, amps, m):
        """(samples,): does its port follow the source all the time?"""
        return np.zeros(volts.shape, dtype=bool)

    def one(self, v, m, drive):
        """(I, dI/dV, W from the winding), each of shape (samples,)."""
        peak, rs = self.peak(m, drive), self.source_ohms(m)
        v = v / self.share
        if self.law_of.perveance is None:
            current, slope, watts = mean_current(v, peak, rs, self.law_of)
        else:  # K scales as I = K V^1.5: a stronger valve is the same valve with Rs and I scaled
            k = m[:, self.strength]
            current, slope, watts = (k * x for x in mean_current(v, peak, rs * k, self.law_of))
        return current, slope / self.share, watts

    def flow(self, u, m, drive):
        """(I, dI/du, W): shapes (samples, 1), (samples, 1, 1), (samples, 1)."""
        current, slope, watts = self.one(u[:, 0], m, drive)
        return current[:, None], slope[:, None, None], watts[:, None]

    def law(self, u, m, drive):
        return self.flow(u, m, drive)[:2]

    def alike(self, other: "Rectifier") -> bool:
        """Do both do the same in turns, as the halves of a full-wave rectifier?"""

        def own(r):
            return (
                r.feed,
                r.reservoir,
                r.emf,
                r.ratio,
                r.turns,
                r.seen,
                r.law_of,
                r.strength,
                r.share,
                [g.pairs for g in r.groups],
            )

        return own(self) == own(other)


@dataclass(frozen=True)
class _Several:
    """Rectifiers that are worked out together, as one device of as many ports."""

    members: tuple[Rectifier, ...]

    name = ""

    @property
    def ref(self):
        return "+".join(dict.fromkeys(r.ref for r in self.members))

    @property
    def ports(self):
        return tuple(r.reservoir for r in self.members)

    @property
    def currents(self):
        return tuple((r.source, r.sink) for r in self.members)

    def flow(self, u, m, drive):
        """(I, dI/du, W): shapes (samples, ports), (samples, ports, ports), (samples, ports)."""
        raise NotImplementedError

    def law(self, u, m, drive):
        return self.flow(u, m, drive)[:2]


class Twins(_Several):
    """The two halves of full-wave rectifiers: what the first half of the members does in one half cycle, the rest do in
    the next."""

    def flow(self, u, m, drive):
        count = len(self.members) // 2
        half = self.members[:count]
        amps, slope, watts = (half[0] if count == 1 else Crowd(half)).flow(u[:, :count], m, drive)
        slopes = np.zeros((len(u), 2 * count, 2 * count))
        slopes[:, :count, :count] = slopes[:, count:, count:] = slope
        return np.concatenate((amps, amps), 1), slopes, np.concatenate((watts, watts), 1)


class Crowd(_Several):
    """Rectifiers that pulse in the same half cycle and lower each other's source."""

    def flow(self, u, m, drive):
        peak = np.stack([r.peak(m, drive) for r in self.members], 1)
        share = np.array([r.share for r in self.members])
        floor = u / share + [r.law_of.drop for r in self.members]
        angle = np.arccos(np.clip((floor / np.maximum(peak, 1e-12)).min(axis=1), -1.0, 1.0))
        source = peak[:, None] * np.cos(angle[:, None] * PHASES)[..., None]
        amps, slopes = self._at_once(source - floor[:, None], self._shared_ohms(m), m)
        part = (angle * 0.5 / np.pi)[:, None]
        return (
            part * np.einsum("sqk,q->sk", amps, WEIGHTS),
            part[..., None] * np.einsum("sqkj,q->skj", slopes, WEIGHTS) / share,
            part * np.einsum("sqk,q->sk", amps * source, WEIGHTS),
        )

    def _shared_ohms(self, m):
        """Ohms that each meets of each other's current (samples, members, members); its own stand on the diagonal."""
        ohms = np.zeros((len(m), len(self.members), len(self.members)))
        for i, one in enumerate(self.members):
            for j, other in enumerate(self.members):
                common = [g for g in one.groups if any(g.key == o.key for o in other.groups) and one.sign == other.sign]
                ohms[:, i, j] = sum(g.ohms(m) for g in common) + one.turns * other.turns * one.mains_ohms(m)
            ohms[:, i, i] = one.source_ohms(m)
        return ohms

    def _at_once(self, spare, ohms, m):
        """(A, dA/dV of the reservoirs) where each draws by its law at what the others leave it; Newton from what each
        draws alone."""
        count = len(self.members)
        own = ohms[:, None, np.arange(count), np.arange(count)]
        meets = (ohms * (1 - np.eye(count)))[:, None]
        amps, slope = self._currents_drawn(spare, own, m)
        for _ in range(ROUNDS):
            unloaded = spare - (meets @ amps[..., None])[..., 0]
            drawn, slope = self._currents_drawn(unloaded, own, m)
            step = _solved(slope[..., None] * meets, (amps - drawn)[..., None])[..., 0]
            amps = amps - step
            if np.abs(step).max(initial=0.0) < 1e-13:
                break
        return np.maximum(amps, 0.0), -_solved(slope[..., None] * meets, slope[..., None] * np.eye(count))

    def _currents_drawn(self, spare, own, m):
        amps, slope = np.empty_like(spare), np.empty_like(spare)
        for n, r in enumerate(self.members):
            over, rs = np.maximum(spare[..., n], 0.0), own[..., n]
            if r.law_of.perveance is None:
                amps[..., n], slope[..., n] = over / rs, (spare[..., n] > 0) / rs
            else:
                k = m[:, r.strength][:, None]
                amps[..., n], slope[..., n] = (k * x for x in child_current(over, rs * k, r.law_of.perveance))
        return amps, slope


def _solved(less, right):
    """(1 + less)⁻¹ right for matrices whose diagonal is zero."""
    if less.shape[-1] != 2:
        return np.linalg.solve(np.eye(less.shape[-1]) + less, right)
    a, b = less[..., 0, 1, None], less[..., 1, 0, None]
    return (
        np.stack((right[..., 0, :] - a * right[..., 1, :], right[..., 1, :] - b * right[..., 0, :]), -2)
        / (1 - a * b)[..., None]
    )


def list_banks(rectifiers) -> tuple:
    """The rectifiers as devices: alone, in turns, or together. Their order may change."""
    rest, banks = list(rectifiers), []
    while rest:
        crowd = [rest[0], *(r for r in rest[1:] if _conduct_together(rest[0], r))]
        rest = [r for r in rest if r not in crowd]
        twins = _list_twins(crowd, rest)
        rest = [r for r in rest if r not in twins]
        banks.append(Twins((*crowd, *twins)) if twins else Crowd(tuple(crowd)) if len(crowd) > 1 else crowd[0])
    return tuple(banks)


def _list_twins(crowd, rest) -> list[Rectifier]:
    """For each of a crowd the one that does the same in the other half cycle, if each has one and no more pulse with
    these."""
    mates = [next((r for r in rest if r.polarity != one.polarity and one.alike(r)), None) for one in crowd]
    twins = [r for r in mates if r is not None]
    if len({id(r) for r in twins}) < len(mates):
        return []
    return [] if any(r not in twins and _conduct_together(twins[0], r) for r in rest) else twins


def _conduct_together(one: Rectifier, other: Rectifier) -> bool:
    """Do both conduct in the same half cycle through something they have in common?"""
    if one.is_by_itself or other.is_by_itself:
        return False
    common = (one.seen and other.seen) or {g.key for g in one.groups} & {g.key for g in other.groups}
    return bool(one.feed == other.feed and one.polarity == other.polarity and common)
