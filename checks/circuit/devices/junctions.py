"""Diodes that do not charge a reservoir, Zener diodes and reference valves, as devices (see devices/valves.py)."""

import math
from dataclasses import dataclass

from scipy.special import expit

from checks.circuit.valves.koren import softplus

KNEE = 0.05  # V over which a junction turns on
JUNCTION_OHMS, ZENER_OHMS = 1.0, 20.0  # slope resistances (assumed; small against what feeds them)
# V, V and Ω of a silicon diode: 0.58 V at 1 mA, 0.67 V at 10 mA, 0.77 V at 0.1 A, 0.93 V at 1 A (common practice).
SILICON_TURN, SILICON_KNEE, FORWARD_OHMS = 0.81, 0.04, 0.12


@dataclass(frozen=True)
class Junction:
    """A diode out of a supply's way, or with `breakdown` V (times a parameter) a Zener diode or reference valve.

    `drop` is where its current turns up (times the parameter `scatter`, where it has one).
    """

    ref: str
    anode: int
    cathode: int
    breakdown: float | None = None
    parameter: int = 0
    drop: float = 0.7
    scatter: int | None = None
    ohms: float = JUNCTION_OHMS
    knee: float = KNEE

    name = ""

    @property
    def ports(self):
        return ((self.anode, self.cathode),)

    @property
    def currents(self):
        return self.ports

    def law(self, u, m, drive):
        v = u[:, 0]
        drop = self.drop if self.scatter is None else self.drop * m[:, self.scatter]
        x = (v - drop) / self.knee
        idle = softplus(-drop / self.knee)  # taken off, so that nothing flows at 0 V
        current, slope = self.knee * (softplus(x) - idle) / self.ohms, expit(x) / self.ohms
        if self.breakdown is not None:
            y = (-v - self.breakdown * m[:, self.parameter]) / KNEE
            current, slope = current - KNEE * softplus(y) / ZENER_OHMS, slope + expit(y) / ZENER_OHMS
        return current[:, None], slope[:, None, None]


def drop_at(volts: float, amps: float) -> float:
    """The `drop` of a junction that has `volts` across it at `amps`."""
    share = amps * JUNCTION_OHMS / KNEE
    return volts - KNEE * (share if share > 30 else math.log(math.expm1(share)))
