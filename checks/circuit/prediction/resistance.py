"""What an ohmmeter reads between two points with the power off: valves and diodes open, capacitors charged and open."""

from dataclasses import dataclass

import numpy as np

from checks.circuit.netlist.network import Network
from checks.circuit.solver.conductances import conductances, floating

LARGE = 1e-6  # F whose charging is seen on a meter (common practice)
IN_THE_WAY = 0.05  # share of the probes' voltage across the capacitor
TIME_CONSTANTS = 5.0


@dataclass(frozen=True)
class Settling:
    """A capacitor that the ohmmeter has to charge first: its reference and about how long that takes, in s."""

    ref: str
    seconds: float


def resistances(net: Network, red: int, black: int, m) -> np.ndarray | None:
    """Ohms between two nodes for multipliers m, of shape (samples,); None when no resistance joins them at all."""
    if red == black:
        return np.zeros(len(m))
    if not floating(net)[0].together(red, black):
        return None
    return _spread(net, red, black, conductances(net, m))[1]


def _spread(net: Network, red: int, black: int, g):
    """(node volts for 1 A through the probes, ohms between them)."""
    inward = np.zeros((net.size + 1, 1))
    inward[red], inward[black] = 1.0, -1.0
    volts = np.linalg.solve(g, np.broadcast_to(inward[:-1], (len(g), net.size, 1)))[..., 0]
    volts = np.concatenate((volts, np.zeros((len(g), 1))), axis=1)
    return volts, volts[:, red] - volts[:, black]


def settling(net: Network, red: int, black: int) -> tuple[Settling, ...]:
    """The large capacitors in the way of a reading, slowest first; an ohmmeter's current is taken as steady."""
    g, groups = conductances(net, net.parameters.nominal()), floating(net)[0]
    if red == black or not groups.together(red, black):
        return ()
    volts, ohms = _spread(net, red, black, g)
    times = []
    for part, a, b in net.capacitors:
        if part.value < LARGE or a == b or abs(volts[0, a] - volts[0, b]) < IN_THE_WAY * ohms[0]:
            continue
        seconds = (
            TIME_CONSTANTS * part.value * float(_spread(net, a, b, g)[1][0]) if groups.together(a, b) else float("inf")
        )
        if seconds >= 1.0:
            times.append(Settling(part.ref, seconds))
    return tuple(sorted(times, key=lambda s: -s.seconds))
