"""Operational amplifiers at DC as devices (see devices/valves.py): gain, what the supplies leave, what flows.

The output wants to stand at the middle of its supplies plus the open-loop gain times what the inputs differ by, and
comes no nearer to either supply than the headroom: the swing S to either side of the middle bends it as x/√(1 + x²)
with x the wanted excursion over S. It does so behind some ohms, delivers no more than its limit, from the positive
supply what flows out and to the negative one what flows in. Inputs take no current; the offset between them is a
parameter in V.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import expit

from checks.circuit.netlist.op_amps import OP_AMP
from checks.circuit.netlist.transistors import Figure
from checks.circuit.valves.koren import softplus
from checks.finite import refuse_unreal

OUTPUT_OHMS = 50.0  # before feedback (assumed; sheets print 30 Ω to 200 Ω)
LEAST_AMPS = 1e-5  # A over which the output passes from delivering to taking
START = 1.0  # V of supply over which the quiescent current comes up
LEAST_SWING = 1e-3  # V


@dataclass(frozen=True)
class OpAmp:
    """Ports plus against minus input, output and positive supply against negative supply; currents positive supply to
    output, output to negative supply, and supply to supply."""

    ref: str
    plus: int
    minus: int
    output: int
    high: int
    low: int
    gain: float
    headroom: float
    amps: float
    quiescent: float
    bandwidth: float
    offset: int
    gain_at: int

    def __post_init__(self):
        refuse_unreal(self, "gain", above=0)
        refuse_unreal(self, "headroom", "amps", "quiescent", "bandwidth", least=0)

    name = ""

    @property
    def ports(self):
        return ((self.plus, self.minus), (self.output, self.low), (self.high, self.low))

    @property
    def currents(self):
        return ((self.high, self.output), (self.output, self.low), (self.high, self.low))

    def law(self, u, m, drive):
        inputs, out, supply = u[:, 0] + (m[:, self.offset] - 1), u[:, 1], np.maximum(u[:, 2], 0.0)
        lit = (u[:, 2] > 0).astype(float)
        middle, room = supply / 2, supply / 2 - self.headroom
        swing = LEAST_SWING + softplus(room / LEAST_SWING) * LEAST_SWING
        widens = 0.5 * expit(room / LEAST_SWING) * lit  # of the swing with the supply
        gain = self.gain * m[:, self.gain_at]
        x = gain * inputs / swing
        bend = 1 / np.sqrt(1 + x**2)
        target, by_inputs = middle + swing * x * bend, gain * bend**3
        by_supply = 0.5 * lit + widens * (x * bend - x * bend**3)
        unlimited = (target - out) / OUTPUT_OHMS
        limited = np.tanh(unlimited / self.amps)
        amps, steep = self.amps * limited, (1 - limited**2) / OUTPUT_OHMS
        idle = self.quiescent * -np.expm1(-supply / START)
        flows = np.stack((_positive(amps), _positive(-amps), idle), 1)
        by = np.stack((steep * by_inputs, -steep, steep * by_supply), -1)
        zero = np.zeros(len(u))
        rise = np.stack((zero, zero, lit * (self.quiescent - idle) / START), -1)
        out_slope, in_slope = (expit(way * amps / LEAST_AMPS)[:, None] * by * way for way in (1.0, -1.0))
        return flows, np.stack((out_slope, in_slope, rise), 1)


def _positive(amps):
    return LEAST_AMPS * softplus(amps / LEAST_AMPS)


def list_op_amps(parts, nodes: dict, parameters) -> tuple[OpAmp, ...]:
    """The devices of the op-amps among `parts`."""
    return tuple(_op_amp(p, nodes, parameters) for p in parts if p.kind == OP_AMP)


def _op_amp(part, nodes: dict, parameters) -> OpAmp:
    ends = (nodes[part.joins[t]] for t in ("plus_input", "minus_input", "output", "plus_supply", "minus_supply"))
    places = (parameters.index(part.ref, what) for what in ("offset", "open-loop gain"))
    names = (Figure.OPEN_LOOP_GAIN, Figure.HEADROOM, Figure.AMPS, Figure.QUIESCENT, Figure.BANDWIDTH)
    return OpAmp(part.ref, *ends, *(part.figures[name] for name in names), *places)
