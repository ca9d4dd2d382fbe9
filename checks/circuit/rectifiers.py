"""Which diodes are rectifiers: they stand between a transformer's winding and a reservoir, and are solved as mean currents.

Found: half-wave and full-wave with a centre tap, positive or negative, bridges (as one part or as four diodes), doublers (two
half-waves), diodes in series, resistors or fuses before or behind the diode. A choke before the first capacitor is refused.
Supplies of one transformer are taken to conduct at different moments: what one's pulses take from another is left out.
"""
from collections import Counter, defaultdict
from dataclasses import dataclass, replace

from checks.circuit.devices import Junction, Rectifier
from checks.circuit.network import Network, Resistive, peak_volts, winding_ohms
from checks.circuit.parts import PartSpec
from checks.circuit.supply import SILICON_DROP, Law, perveance_of
from checks.circuit.valve_data import known

RESERVOIR = 0.5e-6  # F; less than this is interference suppression (common practice)
STEPS, MOST_OHMS = 4, 5000.0  # how far, and through how much, a reservoir may lie behind its rectifier


@dataclass(frozen=True)
class Diode:
    refs: tuple[str, ...]
    anode: int
    cathode: int
    law: Law
    strength: int


@dataclass(frozen=True)
class End:
    """One end of a winding: its node, the node its voltage stands against, open peak volts and resistance in series.

    `phase` is 1 for the first end and -1 for the last.
    """

    winding: tuple[str, str]
    node: int
    back: int
    phase: float
    emf: float
    ratio: int
    ohms: tuple[tuple[float, int], ...]


def rectifiers_of(net: Network, fitted) -> tuple[tuple, tuple, tuple]:
    """(rectifiers, junctions that are none, notes). Raises ChecksError for choke input and for shorted supplies."""
    touched = Counter(net.nodes[n] for p in fitted for n in p.nodes)
    diodes = _chained([d for p in fitted for d in _diodes(p, net)], touched)
    ends = {e.node: e for p in fitted if p.kind == "mains transformer" for e in _ends(p, net, touched)}
    finder = _Finder(net, fitted, ends, touched)
    found, diodes = finder.bridges(diodes)
    loose = []
    for diode in diodes:
        rectifier = finder.half_wave(diode)
        if rectifier is None:
            drop = diode.law.drop if diode.law.perveance is None else 1.0
            loose.append(Junction(diode.refs[0], diode.anode, diode.cathode, drop=drop))
        else:
            found.append(rectifier)
    return _with_halves(found), tuple(loose), tuple(dict.fromkeys(finder.notes))


def _diodes(part: PartSpec, net: Network):
    at = {t: net.nodes[n] for t, n in part.joins.items()}
    silicon = Law(SILICON_DROP)
    if part.kind == "diode":
        yield Diode((part.ref,), at["anode"], at["cathode"], silicon, net.parameters.fixed)
    elif part.kind == "bridge":
        for one, other in (("ac1", "plus"), ("ac2", "plus"), ("minus", "ac1"), ("minus", "ac2")):
            yield Diode((part.ref,), at[one], at[other], silicon, net.parameters.fixed)
    elif part.kind == "rectifier valve":
        law, strength = _valve_law(part), net.parameters.index(part.ref, "strength")
        for terminal in ("anode_1", "anode_2"):
            if terminal in at:
                yield Diode((part.ref,), at[terminal], at["cathode"], law, strength)


def _valve_law(part: PartSpec) -> Law:
    """Child's law from the guide's own perveance (A/V^1.5) or drop (V at A), or the type's published drop."""
    own = part.model
    if "perveance" in own:
        return Law(0.0, own["perveance"])
    drop = own if "volts" in own and "amps" in own else ((known(part.type) or {}).get("drop"))
    if not drop:
        raise part.wrong("type", f"{part.type} is not a rectifier valve known here; give its model volts and amps of one drop.",
                         "unknown-valve")
    return Law(0.0, perveance_of(drop["volts"], drop["amps"]))


def _chained(diodes: list[Diode], touched) -> list[Diode]:
    """Silicon diodes in series, with nothing else at the joint, as one of twice the drop."""
    for first in diodes:
        for second in diodes:
            plain = first.law.perveance is None and second.law.perveance is None
            if first.refs != second.refs and plain and first.cathode == second.anode and touched[first.cathode] == 2:
                both = Diode((*first.refs, *second.refs), first.anode, second.cathode,
                             Law(first.law.drop + second.law.drop), first.strength)
                return _chained([d for d in diodes if d not in (first, second)] + [both], touched)
    return diodes


def _ends(part: PartSpec, net: Network, touched):
    """Yield the ends of every secondary that has volts. A centre that goes nowhere is no centre."""
    primary = next(w for w in part.windings if w.name == "primary")
    for winding in part.windings:
        if winding is primary or not winding.volts:
            continue
        nodes = [net.nodes[n] for n in winding.nodes]
        halves = len(nodes) - 1
        whole = winding_ohms(part, winding)
        if halves == 2 and touched[nodes[1]] == 1 and nodes[1] != net.size:
            nodes, parts_of = [nodes[0], nodes[2]], 2
        else:
            parts_of = 1
        if len(set(nodes)) < len(nodes):
            raise part.wrong(f"winding {winding.name}: joins", "puts both ends on one wire: the winding is shorted.", "shorted")
        emf = peak_volts(part, winding) * parts_of
        ohms = whole if len(nodes) == 2 else whole / 2
        turns = emf / (2**0.5 * (primary.volts or net.condition.reference_volts))
        own = [(ohms, net.parameters.index(part.ref, f"{winding.name} ohms"))]
        if winding.ohms:  # an estimate from the regulation has the primary's share in it
            own.append((turns**2 * (primary.ohms or 0.0), net.parameters.index(part.ref, "primary ohms")))
        ratio = net.parameters.index(part.ref, f"{winding.name} volts")
        for node, back, phase in _pairs(nodes):
            if node != net.size:
                yield End((part.ref, winding.name), node, back, phase, emf, ratio, tuple(own))


def _pairs(nodes):
    if len(nodes) == 2:
        return [(nodes[0], nodes[1], 1.0), (nodes[1], nodes[0], -1.0)]
    return [(nodes[0], nodes[1], 1.0), (nodes[2], nodes[1], -1.0)]


class _Finder:
    """Walks from diodes to windings on one side and to reservoirs on the other."""

    def __init__(self, net: Network, fitted, ends, touched):
        self.net, self.ends, self.touched, self.notes = net, ends, touched, []
        self.kinds = {p.ref: p.kind for p in fitted}
        self.at = defaultdict(list)
        for r in net.resistives:
            self.at[r.a].append(r)
            self.at[r.b].append(r)
        self.farads = Counter()
        for part, a, b in net.capacitors:
            if a != b:
                self.farads[a] += part.value
                self.farads[b] += part.value

    def bridges(self, diodes: list[Diode]):
        """(rectifiers of bridges, diodes that are left)."""
        found, left = [], list(diodes)
        for end in self.ends.values():
            other = self.ends.get(end.back)
            if other is None or end.node > other.node:
                continue
            four = self._four(end.node, other.node, left)
            if four:
                law = Law(four[0].law.drop * 2)
                for near in (end, other):
                    found.append(self._rectifier(near, four[0], four[0].cathode, four[2].anode, law))
                left = [d for d in left if d not in four]
        return found, left

    @staticmethod
    def _four(one, other, diodes):
        up = {d.anode: d for d in diodes}
        down = {d.cathode: d for d in diodes}
        if not (one in up and other in up and one in down and other in down):
            return None
        four = (up[one], up[other], down[one], down[other])
        fits = four[0].cathode == four[1].cathode and four[2].anode == four[3].anode
        return four if fits and all(d.law.perveance is None for d in four) else None

    def half_wave(self, diode: Diode):
        """The rectifier a diode is, or None."""
        for start, far, positive in ((diode.anode, diode.cathode, True), (diode.cathode, diode.anode, False)):
            end, series = self._end(start)
            if end is not None and far not in self.ends:
                end = replace(end, ohms=(*end.ohms, *((r.ohms, r.parameter) for r in series)))
                out, back = (far, end.back) if positive else (end.back, far)
                return self._rectifier(end, diode, out, back, diode.law)
        return None

    def _end(self, node):
        if node in self.ends:
            return self.ends[node], ()
        for r in self.at[node]:
            beyond = r.b if r.a == node else r.a
            if self.touched[node] == 2 and beyond in self.ends and self.kinds.get(r.ref) in ("resistor", "fuse"):
                return self.ends[beyond], (r,)
        return None, ()

    def _rectifier(self, end: End, diode: Diode, out: int, back: int, law: Law) -> Rectifier:
        """`out` is the positive side of the load, `back` its negative side; one of them is the winding's for half-waves."""
        tail, head, series = out, back, ()
        if out != end.back:
            tail, series = self._reservoir(out, diode)
        else:
            head, series = self._reservoir(back, diode)
        if tail == head:
            part = next(p for p in self.net.parts if p.ref == diode.refs[0])
            raise part.wrong("joins", f"feeds a shorted supply: {self.net.named(out)} is one wire with its return.", "shorted")
        bridge = law.drop >= 2 * SILICON_DROP and out != end.back and back != end.back
        source = back if bridge else (end.node if out != end.back else back)
        sink = out if out != end.back else end.node
        ohms = (*end.ohms, *((r.ohms, r.parameter) for r in series))
        farads = self.farads[tail if out != end.back else head]
        return Rectifier("+".join(diode.refs), end.winding, source, sink, (tail, head), end.emf, end.ratio, ohms, law,
                         diode.strength, end.node, end.back, end.phase, farads=farads, series=tuple(r.ref for r in series))

    def _reservoir(self, node: int, diode: Diode) -> tuple[int, tuple[Resistive, ...]]:
        """The first node with a capacitor behind a rectifier, and what lies between."""
        first, seen, series = node, {node, self.net.size}, []
        for _ in range(STEPS):
            if self.farads[node] >= RESERVOIR:
                return node, tuple(series)
            ways = [r for r in self.at[node] if r.ohms <= MOST_OHMS and (r.b if r.a == node else r.a) not in seen]
            if not ways:
                break
            way = min(ways, key=lambda r: r.ohms)
            if self.kinds.get(way.ref) == "inductor":
                part = next(p for p in self.net.parts if p.ref == way.ref)
                raise part.wrong("joins", f"puts a choke before the first capacitor behind {diode.refs[0]}: choke input is not "
                                 "calculated here.", "choke-input")
            node = way.b if way.a == node else way.a
            seen.add(node)
            series.append(way)
        self.notes.append(f"No reservoir capacitor was found behind {diode.refs[0]}; its node is taken as if it had one.")
        return first, ()


def _with_halves(found: list[Rectifier]) -> tuple[Rectifier, ...]:
    """Mark those that fill one reservoir together as full-wave."""
    twins = Counter((r.winding, r.reservoir) for r in found)
    return tuple(replace(r, halves=2 if twins[r.winding, r.reservoir] > 1 else 1) for r in found)
