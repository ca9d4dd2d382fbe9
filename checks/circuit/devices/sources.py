"""DC supplies, batteries and three-terminal regulators as devices (see devices/valves.py).

A supply is its volts behind its ohms, written as its short-circuit current beside these ohms, which are among the
network's resistances: so nothing floats on it. A regulator holds its output at its value above its common as long as
its input is higher than that by the dropout, follows the input less the dropout below, passes current one way only, and
lets its quiescent current out of the common. Fed the wrong way round it conducts as the diodes inside it do: from its
output to its input, and from its common to its input. Neither limits its current here: ratings tell what is too much.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import expit

from checks.circuit.netlist.sources import ASSUMED_OHMS, REGULATORS, SUPPLIES
from checks.circuit.valves.koren import softplus
from checks.finite import refuse_unreal

KNEE = 0.05  # V over which a regulator drops out
OUTPUT_OHMS = 0.05  # of a regulator (assumed; sheets print some 20 mΩ)
LEAST_AMPS = 1e-2  # A over which a regulator's output turns on
BACK_VOLTS, BACK_OHMS = 0.7, 1.0  # of a regulator's inner diodes (common practice; assumed)
START = 1.0  # V of input over which the quiescent current comes up


@dataclass(frozen=True)
class DirectSource:
    """The short-circuit current of a supply, from minus to plus whatever the port plus against minus stands at."""

    ref: str
    plus: int
    minus: int
    volts: float
    ohms: float
    parameter: int

    def __post_init__(self):
        refuse_unreal(self, "volts")
        refuse_unreal(self, "ohms", above=0)

    name = ""

    @property
    def ports(self):
        return ((self.plus, self.minus),)

    @property
    def currents(self):
        return ((self.minus, self.plus),)

    def law(self, u, m, drive):
        return self.volts / self.ohms * m[:, [self.parameter]], np.zeros((len(u), 1, 1))


@dataclass(frozen=True)
class Regulator:
    """Ports input and output against common; currents input to output and input to common. A negative one is turned
    round."""

    ref: str
    inward: int
    output: int
    common: int
    negative: bool
    volts: float
    dropout: float
    quiescent: float
    parameter: int

    def __post_init__(self):
        refuse_unreal(self, "volts", above=0)
        refuse_unreal(self, "dropout", "quiescent", least=0)

    name = ""

    def _turned(self, *pairs):
        return tuple(pair[::-1] if self.negative else pair for pair in pairs)

    @property
    def ports(self):
        return self._turned((self.inward, self.common), (self.output, self.common))

    @property
    def currents(self):
        return self._turned((self.inward, self.output), (self.inward, self.common))

    def law(self, u, m, drive):
        regulated = self.volts * m[:, self.parameter]
        short = (regulated - (u[:, 0] - self.dropout)) / KNEE  # by how much the input is too low
        target, follows = regulated - KNEE * softplus(short), expit(short)
        over = (target - u[:, 1]) / OUTPUT_OHMS / LEAST_AMPS
        amps, steep = LEAST_AMPS * softplus(over), expit(over) / OUTPUT_OHMS
        idle = self.quiescent * -np.expm1(-np.maximum(u[:, 0], 0) / START)
        rise = np.where(u[:, 0] > 0, (self.quiescent - idle) / START, 0.0)
        back, shut = _inner_diode(u[:, 1] - u[:, 0])
        under, low = _inner_diode(-u[:, 0])
        amps, idle, zero = amps - back, idle - under, np.zeros(len(u))
        rows = ((steep * follows + shut, -steep - shut), (rise + low, zero))
        return np.stack((amps, idle), 1), np.stack([np.stack(row, -1) for row in rows], 1)


def _inner_diode(ahead):
    """(A, S) of a diode inside a regulator with `ahead` V across it."""
    over = (ahead - BACK_VOLTS) / KNEE
    return KNEE * softplus(over) / BACK_OHMS, expit(over) / BACK_OHMS


def source_ohms(part) -> float:
    """A supply's own ohms."""
    return part.ohms or ASSUMED_OHMS[part.kind]


def list_sources(parts, nodes: dict, parameters) -> tuple:
    """The devices of the supplies and regulators among `parts`."""
    return tuple(_source(p, nodes, parameters.index(p.ref, "value")) for p in parts if p.kind in SUPPLIES + REGULATORS)


def _source(part, nodes: dict, parameter: int):
    if part.kind in SUPPLIES:
        plus, minus = (nodes[part.joins[t]] for t in ("plus", "minus"))
        return DirectSource(part.ref, plus, minus, part.value, source_ohms(part), parameter)
    inward, output, common = (nodes[part.joins[t]] for t in ("input", "output", "common"))
    own = (part.value, part.figures["dropout"], part.figures["quiescent"])
    return Regulator(part.ref, inward, output, common, part.kind == "negative regulator", *own, parameter)
