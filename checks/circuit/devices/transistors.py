"""MOSFETs and bipolar transistors as devices (see devices/valves.py): what sets their direct currents and no more.

A MOSFET follows the square law of its threshold Vt, Id = k/2 ((Vgs - Vt)² - (Vgd - Vt)²) with each bracket no less
than zero, which is k ((Vgs - Vt) Vds - Vds²/2) below the pinch-off and k/2 (Vgs - Vt)² above it (H. Shichman and D.
Hodges, IEEE J. Solid-State Circuits 3:285, 1968, without channel-length modulation). Its sheet's transconductance gm at
a current gives k = gm²/2Id. The diode between source and drain is part of it. Brackets end in an exponential tail, as
weak inversion does, so that slopes never vanish.

A bipolar transistor follows J. Ebers and J. Moll, Proc. IRE 42:1761 (1954), in the form with a transport current: Ic -
Is (exp(Vbe/VT) - exp(Vbc/VT)). Exponentials go on as straight lines far above the sheet's current.

With p channel and in pnp every port and current is turned round. No heating, no Early effect, no breakdown.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import expit

from checks.circuit.devices.junctions import JUNCTION_OHMS, KNEE
from checks.circuit.netlist.transistors import MOSFETS, TERMINALS, Figure
from checks.circuit.valves.koren import softplus
from checks.finite import refuse_unreal

TAIL = 0.1  # V for a factor e² of current below the threshold: some 115 mV a decade (common practice 70 to 130)
BODY_VOLTS = 0.7  # forward V of the diode between source and drain
THERMAL_VOLTS = 0.02585  # kT/q at 300 K
REVERSE_GAIN = 2.0  # (assumed) it shows in saturation only
STRAIGHT = 8.0  # nepers above the sheet's current, from where exponentials go on straight


@dataclass(frozen=True)
class Mosfet:
    """Ports gate and drain against source, current drain to source; turned round with a p channel.

    `threshold` is positive for a type that enhances, with either channel; `factor` is k in A/V².
    """

    ref: str
    control: int
    inward: int
    outward: int
    turned: bool
    threshold: float
    factor: float
    threshold_at: int
    strength: int

    def __post_init__(self):
        refuse_unreal(self, "threshold")
        refuse_unreal(self, "factor", above=0)

    name = ""

    @property
    def ports(self):
        if self.turned:  # the source is where current comes in
            return ((self.inward, self.control), (self.inward, self.outward))
        return ((self.control, self.outward), (self.inward, self.outward))

    @property
    def currents(self):
        return ((self.inward, self.outward),)

    def law(self, u, m, drive):
        gate, drain = u[:, 0], u[:, 1]
        over = gate - self.threshold * m[:, self.threshold_at]
        ahead, ahead_slope = _bracket(over)
        back, back_slope = _bracket(over - drain)
        k = self.factor * m[:, self.strength]
        body = (-drain - BODY_VOLTS) / KNEE
        idle = softplus(-BODY_VOLTS / KNEE)
        current = k / 2 * (ahead**2 - back**2) - KNEE * (softplus(body) - idle) / JUNCTION_OHMS
        by_gate = k * (ahead * ahead_slope - back * back_slope)
        by_drain = k * back * back_slope + expit(body) / JUNCTION_OHMS
        return current[:, None], np.stack((by_gate, by_drain), -1)[:, None]


@dataclass(frozen=True)
class Bipolar:
    """Ports base to emitter and base to collector; currents collector to emitter, base to emitter, base to collector;
    turned round in pnp. `volts` from base to emitter make `amps` in the collector."""

    ref: str
    control: int
    inward: int
    outward: int
    turned: bool
    gain: float
    volts: float
    amps: float
    gain_at: int
    volts_at: int

    def __post_init__(self):
        refuse_unreal(self, "gain", "volts", "amps", above=0)

    name = ""

    @property
    def ports(self):
        if self.turned:  # the emitter is where current comes in
            return ((self.inward, self.control), (self.outward, self.control))
        return ((self.control, self.outward), (self.control, self.inward))

    @property
    def currents(self):
        main = (self.inward, self.outward)
        return (main, *self.ports)

    def law(self, u, m, drive):
        start = self.volts * m[:, self.volts_at]
        rest = np.exp(-start / THERMAL_VOLTS)
        ahead, ahead_slope = _exponential((u[:, 0] - start) / THERMAL_VOLTS)
        back, back_slope = _exponential((u[:, 1] - start) / THERMAL_VOLTS)
        gain, zero = self.gain * m[:, self.gain_at], np.zeros(len(u))
        steep = self.amps / THERMAL_VOLTS
        currents = self.amps * np.stack((ahead - back, (ahead - rest) / gain, (back - rest) / REVERSE_GAIN), 1)
        slopes = (
            (steep * ahead_slope, -steep * back_slope),
            (steep * ahead_slope / gain, zero),
            (zero, steep * back_slope / REVERSE_GAIN),
        )
        return currents, np.stack([np.stack(row, -1) for row in slopes], 1)


def _bracket(x):
    """(x where it is above zero and next to nothing below, its slope)."""
    return TAIL * softplus(x / TAIL), expit(x / TAIL)


def _exponential(x):
    """(exp x, its slope), going on straight from STRAIGHT."""
    low = np.exp(np.minimum(x, STRAIGHT))
    return np.where(x > STRAIGHT, low * (1 + x - STRAIGHT), low), low


def build_transistor(part, nodes: dict, parameters):
    """The device of a transistor of a parts list."""
    figures, at = part.figures, {t: nodes[n] for t, n in part.joins.items()}
    first, second, third = (at[t] for t in TERMINALS[part.kind])
    turned = part.kind in ("p-channel mosfet", "pnp transistor")
    ends = (first, third, second) if turned else (first, second, third)
    if part.kind in MOSFETS:
        k = figures[Figure.TRANSCONDUCTANCE] ** 2 / (2 * figures[Figure.AMPS])
        threshold = -figures[Figure.THRESHOLD] if turned else figures[Figure.THRESHOLD]
        places = [parameters.index(part.ref, what) for what in ("threshold", "transconductance")]
        return Mosfet(part.ref, *ends, turned, threshold, k, *places)
    places = [parameters.index(part.ref, what) for what in ("gain", "base volts")]
    own = (figures[name] for name in (Figure.GAIN, Figure.VOLTS, Figure.AMPS))
    return Bipolar(part.ref, *ends, turned, *own, *places)
