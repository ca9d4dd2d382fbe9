"""How long a kit takes to discharge by itself after switch-off, from its parts list, in the worst case of its
tolerances."""

from dataclasses import dataclass
from math import inf, log

import numpy as np
from scipy.linalg import eigh

from checks.circuit.assemble.network import network_of
from checks.circuit.netlist.conditions import Condition
from checks.circuit.netlist.network import Network
from checks.circuit.solver.conductances import conductances
from checks.errors import ChecksError
from checks.finite import refuse_unreal
from checks.safety import TOUCH_DC

SUPPLY_VOLTS, SUPPLY_FARADS = 100.0, 1e-6  # capacitors of this rating and size hold what hurts
BLEEDS = 0.1  # of the current in the slowest path, from which a resistor is worth naming
NEVER = 86400.0  # s; longer than a day is as good as never


@dataclass(frozen=True)
class Discharge:
    """Worst-case `seconds` until every supply capacitor is below the touch limit; inf when nothing discharges one.

    `bleeders` are the resistors that do it, `capacitors` those that hold the charge.
    """

    seconds: float
    bleeders: tuple[str, ...]
    capacitors: tuple[str, ...]

    def __post_init__(self):
        refuse_unreal(self, "seconds", least=0, finite=False)


def discharge(parts, start_volts: float, end_volts: float = TOUCH_DC) -> Discharge | None:
    """Discharge of a parts list (PartSpecs) whose supply capacitors all stand at `start_volts`.

    Valves are taken as cold and rectifiers as blocking: both only slow it. Resistors and capacitors stand at the top of
    their tolerances. None when the kit has no supply capacitor. Raises ChecksError for volts that are not above zero
    and as `network_of` does.
    """
    for name, value in (("start_volts", start_volts), ("end_volts", end_volts)):
        if not 0 < value < inf:
            raise ChecksError("A discharge begins and ends above zero volts.", argument=name)
    net = network_of(parts, Condition(power="off"))
    held = [
        (p, a, b)
        for p, a, b in net.capacitors
        if (p.volts or 0) >= SUPPLY_VOLTS and p.value >= SUPPLY_FARADS and a != b
    ]
    if not held:
        return None
    times, shapes, weights = _modes(net, held, start_volts)
    refs = tuple(p.ref for p, *_ in held)
    if start_volts <= end_volts:
        return Discharge(0.0, (), refs)
    slowest = shapes[:, int(np.argmax(times))]
    seconds = _seconds(times, shapes, weights, held, end_volts)
    return Discharge(seconds, _bleeders(net, slowest), refs)


def _modes(net: Network, held, start: float):
    """(time constants, node shapes, weights) of C dv/dt = -G v from all of `held` at `start`."""
    m = _slowest_parts(net)
    g = conductances(net, m)[0]
    c, v = np.zeros((net.size + 1, net.size + 1)), np.zeros(net.size + 1)
    for part, a, b in held:
        farads = part.value * (1 + part.tolerance.plus)
        c[[a, b], [a, b]] += farads
        c[a, b] -= farads
        c[b, a] -= farads
        v[a] = start if a != net.size else 0.0
    c, v = c[:-1, :-1], v[:-1]
    times, shapes = eigh(c, g)
    alive = times > 1e-9
    times, shapes = times[alive], shapes[:, alive]
    return times, shapes, (shapes.T @ c @ v) / times


def _slowest_parts(net: Network) -> np.ndarray:
    m = net.parameters.nominal().copy()
    worst = {p.ref: 1 + p.tolerance.plus for p in net.parts if p.kind in ("resistor", "potentiometer")}
    for r in net.resistives:
        m[0, r.parameter] = max(m[0, r.parameter], worst.get(r.ref, 1.0))
    return m


def _seconds(times, shapes, weights, held, end: float) -> float:
    """When the highest of the capacitors' voltages falls through `end`; it only ever falls."""
    ends = np.vstack((shapes, np.zeros(shapes.shape[1])))
    across = np.array([ends[a] - ends[b] for _p, a, b in held]) * weights

    def highest(t):
        return float(np.abs(across @ np.exp(-t / times)).max())

    low, high = 0.0, float(times.max()) * (1.0 + max(0.0, log(np.abs(across).sum() / end)))
    if highest(min(high, NEVER)) > end:
        return inf
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if highest(middle) > end else (low, middle)
    return high


def _bleeders(net: Network, shape) -> tuple[str, ...]:
    volts = np.append(shape, 0.0)
    resistors = {p.ref for p in net.parts if p.kind in ("resistor", "potentiometer")}
    to_chassis = {
        r.ref: abs(volts[r.a] - volts[r.b]) / r.ohms
        for r in net.resistives
        if r.ref in resistors and net.size in (r.a, r.b)
    }
    whole = sum(to_chassis.values())
    return tuple(
        ref for ref, amps in sorted(to_chassis.items(), key=lambda x: -x[1]) if whole and amps >= BLEEDS * whole
    )
