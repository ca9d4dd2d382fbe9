"""How long a kit takes to discharge by itself after switch-off, from its parts list, in the worst case of its
tolerances."""

from dataclasses import dataclass
from math import inf, log

import numpy as np
from scipy.linalg import eigh

from checks.circuit.assemble.network import build_network
from checks.circuit.netlist.conditions import Condition
from checks.circuit.netlist.network import Network
from checks.circuit.solver.conductances import conductances
from checks.errors import CallerError
from checks.finite import refuse_unreal
from checks.safety import TOUCH_DC, stored_energy

SUPPLY_VOLTS, SUPPLY_FARADS = 100.0, 1e-6  # capacitors of this rating and size hold what hurts
BLEEDS = 0.1  # of the current in the slowest path, from which a resistor is worth naming
NEVER = 86400.0  # s; longer than a day is as good as never


@dataclass(frozen=True)
class Discharge:
    """Worst-case `seconds` until every supply capacitor is below the touch limit; inf when nothing discharges one.

    `bleeders` are the resistors that do it, those of the slowest rail first, `capacitors` those that hold the charge,
    `joules` what they hold together at the start, at the top of their tolerances.
    """

    seconds: float
    bleeders: tuple[str, ...]
    capacitors: tuple[str, ...]
    joules: float

    def __post_init__(self):
        refuse_unreal(self, "seconds", least=0, finite=False)
        refuse_unreal(self, "joules", least=0)


def discharge(parts, start_volts: float, end_volts: float = TOUCH_DC) -> Discharge | None:
    """Discharge of a parts list (PartSpecs) whose supply capacitors all stand at `start_volts`: those of a negative
    rail below the chassis, and each of several in series by itself.

    Valves are taken as cold and rectifiers as blocking: both only slow it. Resistors and capacitors stand at the top of
    their tolerances. None when the kit has no supply capacitor. Raises ChecksError for volts that are not above zero
    and as `build_network` does.
    """
    for name, value in (("start_volts", start_volts), ("end_volts", end_volts)):
        if not 0 < value < inf:
            raise CallerError("A discharge begins and ends above zero volts.", argument=name)
    net = build_network(parts, Condition(power="off"))
    held = [
        (p, a, b)
        for p, a, b in net.capacitors
        if (p.volts or 0) >= SUPPLY_VOLTS and p.value >= SUPPLY_FARADS and a != b
    ]
    if not held:
        return None
    times, shapes, weights = _modes(net, held, start_volts)
    refs = tuple(p.ref for p, *_ in held)
    joules = sum(stored_energy(p.value * (1 + p.tolerance.plus), start_volts) for p, *_ in held)
    if start_volts <= end_volts:
        return Discharge(0.0, (), refs, joules)
    across = _across(shapes, weights, held)
    rails = sorted({int(n) for n in np.abs(across).argmax(axis=1)}, key=lambda n: -times[n])
    bleeders = dict.fromkeys(ref for n in rails for ref in _bleeders(net, shapes[:, n]))
    return Discharge(_seconds(times, across, end_volts), tuple(bleeders), refs, joules)


def _modes(net: Network, held, start: float):
    """(time constants, node shapes, weights) of C dv/dt = -G v from all of `held` at `start`."""
    m = _slowest_parts(net)
    g = conductances(net, m)[0]
    c, charge = np.zeros((net.size + 1, net.size + 1)), np.zeros(net.size + 1)
    negative = {b for part, a, b in held if part.kind == "electrolytic" and a == net.size}
    for part, a, b in held:
        farads = part.value * (1 + part.tolerance.plus)
        c[[a, b], [a, b]] += farads
        c[a, b] -= farads
        c[b, a] -= farads
        stored = start * farads * (-1 if _is_turned(part, a, b, net.size, negative) else 1)
        charge[a] += stored
        charge[b] -= stored
    times, shapes = eigh(c[:-1, :-1], g)
    alive = times > 1e-9
    times, shapes = times[alive], shapes[:, alive]
    return times, shapes, (shapes.T @ charge[:-1]) / times


def _is_turned(part, a: int, b: int, chassis: int, negative: set[int]) -> bool:
    """Does the second end of a capacitor without a sign of its own stand above the first? Its charge adds to that of
    the electrolytics beside it."""
    if part.kind == "electrolytic":
        return False
    return a in negative if b == chassis else b not in negative if a == chassis else False


def _across(shapes, weights, held):
    """(capacitors, modes): the volts of each mode across each capacitor at the start."""
    ends = np.vstack((shapes, np.zeros(shapes.shape[1])))
    return np.array([ends[a] - ends[b] for _p, a, b in held]) * weights


def _slowest_parts(net: Network) -> np.ndarray:
    m = net.parameters.nominal().copy()
    worst = {p.ref: 1 + p.tolerance.plus for p in net.parts if p.kind in ("resistor", "potentiometer")}
    for r in net.resistives:
        m[0, r.parameter] = max(m[0, r.parameter], worst.get(r.ref, 1.0))
    return m


def _seconds(times, across, end: float) -> float:
    """When the highest of the capacitors' voltages falls through `end`; it only ever falls."""

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
