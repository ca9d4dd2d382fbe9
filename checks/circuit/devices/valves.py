"""Valves' sections as devices: currents that follow voltages.

A device has ports (plus node, minus node), whose voltages it follows, and currents (from node, to node), which it
carries. `law(u, m, drive)` gives (i, d): u has shape (samples, ports) in V, i (samples, currents) in A, d (samples,
currents, ports) in A/V. m holds the samples' multipliers (samples, parameters + 1); `drive` (samples, transformers)
multiplies windings' open volts.
"""

from dataclasses import dataclass

import numpy as np

from checks.circuit.valves.koren import Koren, grid_current, pentode_current, triode_current

CONTACT_VOLTS = 1.0  # V that a grid's contact potential moves for each unit of its parameter


@dataclass(frozen=True)
class Triode:
    """Ports anode and grid against cathode; currents anode to cathode and grid to cathode."""

    ref: str
    name: str
    koren: Koren
    anode: int
    grid: int
    cathode: int
    strength: int
    contact: int

    @property
    def ports(self):
        return ((self.anode, self.cathode), (self.grid, self.cathode))

    @property
    def currents(self):
        return self.ports

    def law(self, u, m, drive):
        ia, by_va, by_vg = triode_current(self.koren, u[:, 0], u[:, 1])
        ig, own = grid_current(u[:, 1], CONTACT_VOLTS * (m[:, self.contact] - 1))
        k = m[:, self.strength]
        zero = np.zeros_like(ia)
        return np.stack((k * ia, ig), 1), _matrix(((k * by_va, k * by_vg), (zero, own)))


@dataclass(frozen=True)
class Pentode:
    """Ports and currents: anode, screen, grid against cathode."""

    ref: str
    name: str
    koren: Koren
    anode: int
    screen: int
    grid: int
    cathode: int
    strength: int
    share: int
    contact: int

    @property
    def ports(self):
        return ((self.anode, self.cathode), (self.screen, self.cathode), (self.grid, self.cathode))

    @property
    def currents(self):
        return self.ports

    def law(self, u, m, drive):
        (ia, *by_a), (i2, *by_s) = pentode_current(self.koren, u[:, 0], u[:, 1], u[:, 2])
        ig, own = grid_current(u[:, 2], CONTACT_VOLTS * (m[:, self.contact] - 1))
        k = m[:, self.strength]
        ks = k * m[:, self.share]
        zero = np.zeros_like(ia)
        return (
            np.stack((k * ia, ks * i2, ig), 1),
            _matrix((tuple(k * d for d in by_a), tuple(ks * d for d in by_s), (zero, zero, own))),
        )


def _matrix(rows):
    return np.stack([np.stack(row, -1) for row in rows], 1)
