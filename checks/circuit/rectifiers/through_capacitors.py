"""Finds doublers and bias supplies among diodes: what a winding feeds through one capacitor."""

from dataclasses import dataclass, replace

from checks.circuit.netlist.parts import PartSpec, require_figure
from checks.circuit.rectifiers.capacitor_fed import BiasFed, Doubler, through_capacitor
from checks.circuit.rectifiers.diodes import Diode
from checks.circuit.rectifiers.secondaries import End
from checks.circuit.rectifiers.unsupported import inside_doubler

NOWHERE = 1e12  # Ω; as much is no part of a circuit, but a leak that the diagnosis looks at
MOST_SERIES = 0.05  # of a bias resistor, which resistances in its diode's way may come to
KINDS = ("capacitor", "electrolytic")


@dataclass(frozen=True)
class CapacitorFeed:
    """The diode into the reservoir, its end of the winding, what stands between, and what returns the capacitor's
    current: the charging `clamp`, or a resistor of `ohms` with its `parameter`."""

    diode: Diode
    end: End
    node: int
    far: int
    sign: float
    capacitor: PartSpec
    clamp: Diode | None = None
    ohms: float = 0.0
    parameter: int = 0


def through_capacitors(finder, diodes: list[Diode]):
    """(rectifiers of doublers and bias supplies, what is not told of the points between, diodes that are left)."""
    rectifiers, inside, used = [], [], []
    for fed in fed_through_capacitors(finder.net, finder.fitted, diodes, finder.ends):
        out, back = fed.far, fed.end.back
        loop = None if out == back else finder.loops.close(*((out, back) if fed.sign > 0 else (back, out)))
        if loop is None or (not fed.clamp and sum(r.ohms for r in loop.series) > MOST_SERIES * fed.ohms):
            continue
        rectifiers.append(_rectifier(finder, fed, loop))
        used += [fed.diode, fed.clamp]
        inside.append(inside_doubler("+".join(fed.diode.refs), fed.node, bool(fed.clamp)))
    return rectifiers, inside, [d for d in diodes if not any(d is u for u in used)]


def _rectifier(finder, fed: CapacitorFeed, loop):
    refs = (*fed.diode.refs, *(fed.clamp.refs if fed.clamp else ()))
    both = replace(fed.diode, refs=tuple(dict.fromkeys(refs)))
    start = fed.end.back if fed.clamp else fed.node
    source, sink = (start, fed.far) if fed.sign > 0 else (fed.far, start)
    made = finder.rectifier(fed.end, both, loop, fed.sign, source, sink, ())
    own = {"hertz": finder.net.condition.hertz, "capacitor": fed.capacitor.ref}
    farads = require_figure(fed.capacitor.value)
    if not fed.clamp:
        return through_capacitor(made, BiasFed, farads, **own, return_ohms=fed.ohms, return_at=fed.parameter)
    return through_capacitor(made, Doubler, 1 / (1 / farads + 1 / (4 * loop.farads)), **own)


def fed_through_capacitors(net, fitted, diodes: list[Diode], ends: dict) -> list[CapacitorFeed]:
    """Every doubler and bias supply; `ends` are the windings' ends by node."""
    supplies: list[CapacitorFeed] = []
    for diode in diodes:
        for node, far, sign in ((diode.anode, diode.cathode, 1.0), (diode.cathode, diode.anode, -1.0)):
            if node in ends or node == net.size or far in ends:
                continue
            fed = _fed(net, fitted, diodes, ends, (diode, node, far, sign))
            if fed and all(fed.diode not in (f.diode, f.clamp) for f in supplies):
                supplies.append(fed)
    return supplies


def _fed(net, fitted, diodes, ends, way) -> CapacitorFeed | None:
    diode, node, far, sign = way
    at = [p for p in fitted if node in {net.nodes[n] for n in p.nodes} and not (p.value or 0) > NOWHERE]
    capacitors = [(p, a if b == node else b) for p, a, b in net.capacitors if node in (a, b)]
    if len(at) != 3 or len(capacitors) != 1:
        return None
    part, beyond = capacitors[0]
    for end in ends.get(beyond, ()):
        own = (diode, end, node, far, sign, part)
        for other in diodes:
            clamps = (other.cathode, other.anode) if sign > 0 else (other.anode, other.cathode)
            if other is not diode and clamps == (node, end.back) and other.law == diode.law:
                return CapacitorFeed(*own, clamp=other)
        for r in net.resistives:
            if {r.a, r.b} == {node, end.back} and r.ohms < NOWHERE and net.kinds[r.ref] == "resistor":
                return CapacitorFeed(*own, ohms=r.ohms, parameter=r.parameter)
    return None
