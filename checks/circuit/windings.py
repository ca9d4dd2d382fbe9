"""Alternating volts of the mains transformer's windings: heaters and open windings, and what loads take off the primary.

Everything is taken in phase and at the mains frequency: heaters are resistances, and a rectifier draws the in-phase
fundamental that carries its power. A winding is its open voltage behind its own DC resistance; the primary's resistance
lowers all of them together. Capacitors and the transformer's own magnetising current are left out.
"""
from dataclasses import dataclass

import numpy as np

from checks.circuit.network import Network, peak_volts, winding_ohms


@dataclass(frozen=True)
class Half:
    """A winding, or one half of it: open rms volts from `minus` to `plus` at the reference, and ohms in series."""

    ref: str
    winding: str
    plus: int
    minus: int
    volts: float
    ratio: int
    ohms: float
    parameter: int
    primary_volts: float
    primary_ohms: float
    primary_parameter: int


def halves_of(net: Network) -> tuple[Half, ...]:
    return tuple(h for p in net.parts if p.kind == "mains transformer" and p.ref not in net.condition.not_fitted
                 for h in _of(p, net))


def _of(part, net: Network):
    primary = next(w for w in part.windings if w.name == "primary")
    volts, ohms = primary.volts or net.condition.reference_volts, primary.ohms or 0.0
    index = net.parameters.index
    for winding in part.windings:
        if winding is primary or not winding.volts:
            continue
        nodes = [net.nodes[n] for n in winding.nodes]
        each = winding_ohms(part, winding) / (len(nodes) - 1)
        # An estimate from the regulation holds the primary's share already, so it is not counted again.
        shared = ohms if winding.ohms else 0.0
        for plus, minus in zip(nodes[:-1], nodes[1:], strict=True):
            yield Half(part.ref, winding.name, plus, minus, peak_volts(part, winding) / 2**0.5,
                       index(part.ref, f"{winding.name} volts"), each, index(part.ref, f"{winding.name} ohms"), volts, shared,
                       index(part.ref, "primary ohms"))


def injections(net: Network, m):
    """Right-hand sides (samples, nodes, 1 + rectifiers): all windings at their open volts, then 1 A drawn by each rectifier."""
    columns = np.zeros((len(m), net.size + 1, 1 + len(net.rectifiers)))
    for h in halves_of(net):
        amps = h.volts * m[:, h.ratio] / (h.ohms * m[:, h.parameter])
        columns[:, h.plus, 0] += amps
        columns[:, h.minus, 0] -= amps
    for n, r in enumerate(net.rectifiers, 1):
        columns[:, r.end, n] -= r.phase
        columns[:, r.back, n] += r.phase
    return columns[:, :-1]


@dataclass(frozen=True)
class Load:
    """What the primary carries, per sample: A at drive 1 by resistive loads, and the primary's own volts and ohms."""

    amps: np.ndarray
    volts: float
    ohms: np.ndarray

    def drive(self, line, watts=0.0):
        """Windings' open volts over those at the reference, for line over reference `line` and rectifiers' `watts`."""
        steady = line / (1 + self.ohms * self.amps / self.volts)
        pulses = self.ohms * watts / (self.volts**2 * np.maximum(steady, 1e-6))
        return np.maximum(line - pulses, 0) / (1 + self.ohms * self.amps / self.volts)

    def primary_amps(self, drive, watts):
        return self.amps * drive + watts / (self.volts * np.maximum(drive, 1e-6))


def load_of(net: Network, m, unit) -> Load:
    """The primary's load; `unit` is node volts (samples, nodes + 1) with all windings at drive 1."""
    amps, volts, ohms = np.zeros(len(m)), net.condition.reference_volts, np.zeros(len(m))
    for h in halves_of(net):
        if h.primary_ohms:
            open_ = h.volts * m[:, h.ratio]
            drawn = (open_ - (unit[:, h.plus] - unit[:, h.minus])) / (h.ohms * m[:, h.parameter])
            amps, volts = amps + drawn * open_ / h.primary_volts, h.primary_volts
            ohms = h.primary_ohms * m[:, h.primary_parameter]
    return Load(amps, volts, ohms)
