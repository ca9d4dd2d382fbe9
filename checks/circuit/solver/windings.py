"""Alternating volts of the mains transformer's windings: heaters and open windings, and what loads take off the
primary.

Everything is taken in phase and at the mains frequency: heaters are resistances, and a rectifier draws the in-phase
fundamental that carries its power. A winding is its open voltage behind its own DC resistance; the primary's resistance
lowers all of them together. Capacitors and the transformer's own magnetising current are left out.
"""

from dataclasses import dataclass

import numpy as np

from checks.circuit.netlist.network import Network, peak_volts, winding_ohms
from checks.circuit.rectifiers.primaries import list_primaries


@dataclass(frozen=True)
class Half:
    """A winding, or one half of it: open rms volts from `minus` to `plus` at drive 1, and ohms in series.

    `feed` is the number of its transformer, `mains` the line volts there and `seen` the (ohms, parameter) pairs before
    them.
    """

    feed: int
    plus: int
    minus: int
    volts: float
    ratio: int
    ohms: float
    parameter: int
    mains: float
    seen: tuple[tuple[float, int], ...]

    def mains_ohms(self, m):
        return sum(ohms * m[:, p] for ohms, p in self.seen)


def list_halves(net: Network) -> tuple[Half, ...]:
    parts = {p.ref: p for p in net.parts}
    return tuple(h for n, feed in enumerate(net.feeds) for h in _of(parts[feed.ref], n, feed, net))


def _of(part, number, feed, net: Network):
    mains, index = list_primaries(part), net.parameters.index
    for winding in part.windings:
        if winding in mains or not winding.volts:
            continue
        nodes = [net.nodes[n] for n in winding.nodes]
        piece_ohms = winding_ohms(part, winding, net.condition.winding_factor) / (len(nodes) - 1)
        for plus, minus in zip(nodes[:-1], nodes[1:], strict=True):
            yield Half(
                number,
                plus,
                minus,
                peak_volts(part, winding) * feed.scale / 2**0.5,
                index(part.ref, f"{winding.name} volts"),
                piece_ohms,
                index(part.ref, f"{winding.name} ohms"),
                feed.volts,
                feed.seen(not winding.ohms),
            )


def injections(net: Network, m):
    """Right-hand sides (samples, nodes, transformers + rectifiers): each one's windings open at drive 1, then 1 A drawn
    by each rectifier."""
    count = len(net.feeds)
    columns = np.zeros((len(m), net.size + 1, count + len(net.rectifiers)))
    for h in list_halves(net):
        amps = h.volts * m[:, h.ratio] / (h.ohms * m[:, h.parameter])
        columns[:, h.plus, h.feed] += amps
        columns[:, h.minus, h.feed] -= amps
    for n, r in enumerate(net.rectifiers, count):
        columns[:, r.end, n] -= r.phase
        columns[:, r.back, n] += r.phase
    return columns[:, :-1]


@dataclass(frozen=True)
class Load:
    """What the primaries carry, per sample and transformer: A at drive 1 by resistive loads, and the share of the line
    these take.

    `volts` (transformers,) are the lines at which the line factor is 1.
    """

    amps: np.ndarray
    share: np.ndarray
    volts: np.ndarray

    def drive(self, line, pulses=0.0):
        """Windings' open volts over those at the reference (samples, transformers), for line over reference `line`
        (samples,) and `pulses` (samples, transformers): rectifiers' W times the ohms they meet on the mains side over
        the line's square."""
        line = line[:, None]
        steady = line / (1 + self.share)
        return np.maximum(line - pulses / np.maximum(steady, 1e-6), 0) / (1 + self.share)

    def primary_amps(self, drive, watts):
        """A of all primaries together (samples,), for rectifiers' watts (samples, transformers)."""
        return (self.amps * drive + watts / (self.volts * np.maximum(drive, 1e-6))).sum(axis=1)


def compute_load(net: Network, m, unit) -> Load:
    """The primaries' load; `unit` is node volts (samples, nodes + 1, transformers) with one's windings at drive 1."""
    amps, share = np.zeros((2, len(m), len(net.feeds)))
    for h in list_halves(net):
        open_ = h.volts * m[:, h.ratio]
        drawn = (open_ - (unit[:, h.plus, h.feed] - unit[:, h.minus, h.feed])) / (h.ohms * m[:, h.parameter])
        own = drawn * open_ / h.mains
        amps[:, h.feed] += own
        share[:, h.feed] += own * h.mains_ohms(m) / h.mains
    return Load(amps, share, np.array([feed.volts for feed in net.feeds]))


def by_feed(net: Network, values, weights=None):
    """Rectifiers' values (samples, rectifiers), each times its weight, summed by transformer (samples,
    transformers)."""
    amps = np.zeros((len(values), len(net.feeds)))
    for n, r in enumerate(net.rectifiers):
        amps[:, r.feed] += values[:, n] * (1.0 if weights is None else weights[n])
    return amps
