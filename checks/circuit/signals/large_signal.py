"""Estimates of where a stage clips: from its load line, not from its distortion.

Each valve's section swings along the load that the small-signal circuit puts on its anode. Downward it can go to where
that line meets the curve at zero grid volts (grid current begins, a pentode reaches its knee); its current can fall to
nothing on the other side; its grid can take its own bias. The first of these that a rising tone reaches is the onset of
clipping. Curved characteristics make one half cycle reach it before the straight line says, the other after: within
some 10 % to 20 % of what a builder calls clipping (common practice). Class A: the standing current does not move.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from scipy.optimize import brentq

from checks.circuit.devices.valves import Pentode
from checks.circuit.signals.transfer import Transfer, small_signal, transfer
from checks.circuit.solver.newton import flows
from checks.circuit.solver.operating_point import Operating
from checks.finite import finite_arguments

LEAST_BIAS = 0.05  # V: a grid with less is at its own contact potential, and swings about it


class ClipsBy(StrEnum):
    GRID = "grid current"
    CUT_OFF = "cut-off"
    ANODE = "anode voltage"


@dataclass(frozen=True)
class Clipping:
    """The onset of clipping: the input in V rms, the valve that clips first and how. An estimate."""

    input_volts: float
    ref: str
    section: str
    by: ClipsBy


@dataclass(frozen=True)
class Power:
    """What the output gives at the onset of clipping: V rms and W in the load. An estimate."""

    clipping: Clipping
    output_volts: float
    watts: float


@finite_arguments
def find_clipping(operating: Operating, hertz: float = 1000.0) -> Clipping | None:
    """The onset of clipping in the first sample; None where the signal reaches no valve."""
    return onset(operating, transfer(small_signal(operating), hertz))


@finite_arguments
def class_a_power(operating: Operating, red: str, ohms: float, hertz: float = 1000.0) -> Power | None:
    """The power in a load of `ohms` between `red` and the chassis at the onset of clipping."""
    gains = transfer(small_signal(operating), hertz)
    first = onset(operating, gains)
    if first is None:
        return None
    volts = first.input_volts * abs(complex(gains.at(operating.net.node(red))[0]))
    return Power(first, volts, volts**2 / ohms)


def onset(operating: Operating, gains: Transfer) -> Clipping | None:
    """The first valve section that a rising tone drives to a limit."""
    return min(_limits(operating, gains), key=lambda clip: clip.input_volts, default=None)


def _limits(operating: Operating, gains: Transfer):
    net, solution = operating.net, operating.solution
    m, drive = solution.reduced.m[:1], solution.drive[:1]
    _, slopes = flows(solution.reduced, solution.ports, solution.reduced.m, solution.drive)
    for device, ports, currents in net.columns():
        if device not in net.valves:
            continue
        at = solution.ports[0, ports]
        volts = np.array([complex(gains.between(plus, minus)[0]) for plus, minus in device.ports])
        amps = abs(slopes[0, currents.start, ports] @ volts)
        grid, bias = abs(volts[-1]), -float(at[-1])
        if grid < 1e-9:
            continue
        standing = float(solution.currents[0, currents.start])
        reaches = {ClipsBy.GRID: max(bias, LEAST_BIAS) / grid}
        if amps > 0:
            reaches[ClipsBy.CUT_OFF] = standing / amps
            swing = _downward(device, at, m, drive, abs(volts[0]) / amps, standing, _screen_share(volts))
            reaches[ClipsBy.ANODE] = swing / abs(volts[0]) if abs(volts[0]) > 1e-9 else math.inf
        by = min(reaches, key=lambda name: reaches[name])
        yield Clipping(reaches[by] / math.sqrt(2), device.ref, device.name, by)


def _screen_share(volts) -> float:
    """How far a screen goes with its anode, for each volt: as the taps of an ultralinear stage have it."""
    return float((volts[1] / volts[0]).real) if len(volts) == 3 and abs(volts[0]) > 1e-9 else 0.0


def _downward(device, at, m, drive, load: float, standing: float, share: float) -> float:
    """V that the anode falls by along a load line of `load` ohms until it meets the curve at zero grid volts. A screen
    falls with it by its share."""
    top = float(at[0])

    def short(anode: float) -> float:
        rest = [max(float(at[1]) - share * (top - anode), 1e-3)] if isinstance(device, Pentode) else []
        amps = float(device.law(np.array([[anode, *rest, 0.0]]), m, drive)[0][0, 0])
        return amps - standing - (top - anode) / max(load, 1e-6)

    if top <= 1.0 or short(1.0) >= 0 or short(top) <= 0:
        return top
    return top - brentq(short, 1.0, top)
