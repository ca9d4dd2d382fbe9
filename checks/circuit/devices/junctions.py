"""Diodes that do not charge a reservoir, Zener diodes and reference valves, as devices (see devices/valves.py)."""

import math
from dataclasses import dataclass

import numpy as np
from scipy.special import expit

from checks.circuit.valves.koren import softplus
from checks.finite import finite_arguments

KNEE = 0.05  # V over which a junction turns on
JUNCTION_OHMS, ZENER_OHMS = 1.0, 20.0  # slope resistances (assumed; small against what feeds them)
# V, A and Ω of Zener diodes of 1 W at their test current: 1N4728A to 1N4757A (from memory). Above the last, where
# reference valves and diodes of several watts are usual, the value counts from no current on, with ZENER_OHMS.
ZENERS = (
    (3.3, 0.076, 10.0),
    (4.7, 0.053, 8.0),
    (5.1, 0.049, 7.0),
    (5.6, 0.045, 5.0),
    (6.2, 0.041, 2.0),
    (6.8, 0.037, 3.5),
    (8.2, 0.031, 4.5),
    (10.0, 0.025, 7.0),
    (12.0, 0.021, 9.0),
    (15.0, 0.017, 14.0),
    (18.0, 0.014, 20.0),
    (24.0, 0.0105, 25.0),
    (33.0, 0.0075, 45.0),
    (51.0, 0.005, 95.0),
)
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
    breakdown_ohms: float = ZENER_OHMS

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
            current = current - KNEE * softplus(y) / self.breakdown_ohms
            slope = slope + expit(y) / self.breakdown_ohms
        return current[:, None], slope[:, None, None]


@finite_arguments
def zener_law(volts: float, watts: float | None) -> tuple[float, float]:
    """(V at which its current turns up, slope in Ω) of a Zener diode that has its value at its test current. That goes
    up with the watts it is made for, and the slope down; 1 W where none are stated."""
    if volts > ZENERS[-1][0]:
        return volts, ZENER_OHMS
    listed, amps, ohms = zip(*ZENERS, strict=True)
    at, share = math.log(volts), watts or 1.0
    test = math.exp(np.interp(at, np.log(listed), np.log(amps))) * share
    slope = math.exp(np.interp(at, np.log(listed), np.log(ohms))) / share
    return volts - test * slope, slope


@finite_arguments
def drop_at(volts: float, amps: float) -> float:
    """The `drop` of a junction that has `volts` across it at `amps`."""
    share = amps * JUNCTION_OHMS / KNEE
    return volts - KNEE * (share if share > 30 else math.log(math.expm1(share)))
