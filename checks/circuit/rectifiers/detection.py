"""Which diodes are rectifiers: they stand between a transformer's winding and a reservoir, and are solved as mean
currents.

Found: half-wave and full-wave with a centre tap, positive or negative, bridges (as one part, or as four diodes of
silicon, valves or both), doublers (two half-waves, or one through a capacitor), bias supplies through a capacitor,
diodes in series and side by side, resistors or fuses before or behind the diode and in the return, a choke right behind
a full-wave rectifier. What is not understood is refused by name and never guessed: another choke before the first
capacitor or in the return, a supply without a reservoir, a winding whose other end leads nowhere, volts that come
through a capacitor as in a tripler.
"""

from collections import Counter, defaultdict
from dataclasses import dataclass, replace

from checks.circuit.devices.junctions import Junction
from checks.circuit.netlist.network import Network
from checks.circuit.netlist.op_amps import OP_AMP
from checks.circuit.netlist.remark import Remark, RemarkCode, remark
from checks.circuit.netlist.sources import REGULATORS
from checks.circuit.netlist.terminals import VALVES
from checks.circuit.netlist.transistors import TRANSISTORS
from checks.circuit.netlist.unsupported import Unsupported
from checks.circuit.rectifiers.banks import Rectifier, list_banks
from checks.circuit.rectifiers.capacitor_fed import BiasFed
from checks.circuit.rectifiers.choke_input import ChokeFed, choke_fed
from checks.circuit.rectifiers.conduction import in_series
from checks.circuit.rectifiers.diodes import Diode, list_diodes
from checks.circuit.rectifiers.loaded_bias import in_one_half_cycle, shadow
from checks.circuit.rectifiers.reservoirs import Loop, Loops
from checks.circuit.rectifiers.secondaries import Coil, End, across, list_coils, list_ends, resistance
from checks.circuit.rectifiers.through_capacitors import through_capacitors
from checks.circuit.rectifiers.unrectified_coils import RECTIFYING, find_unrectified_coils
from checks.circuit.rectifiers.unsmoothed import unsmoothed
from checks.circuit.rectifiers.unsupported import before_choke, fed_with_ac, without_reservoir

CARRIES = 1e6  # Ω; more than this carries no alternating current worth a name (common practice)
NO_PATH = 1e12  # Ω; a resistor of more is the place of one that a fault may put there, and no part


@dataclass(frozen=True)
class Rectified:
    """What the diodes of a network are: rectifiers in banks, junctions that are none, what is not calculated, and
    notes."""

    banks: tuple
    junctions: tuple[Junction, ...]
    unsupported: tuple[Unsupported, ...]
    notes: tuple[Remark, ...]


def rectified(net: Network, fitted) -> Rectified:
    """Sort the diodes of a network. Raises ChecksError for shorted supplies and windings."""
    touched = Counter(net.nodes[n] for p in fitted for n in p.nodes)
    diodes = list_diodes(net, fitted, touched)
    feeds = {feed.ref: feed for feed in net.feeds}
    coils = [c for p in fitted if p.ref in feeds for c in list_coils(p, net, feeds[p.ref], touched)]
    finder = _Finder(net, fitted, coils, touched)
    rectifiers, diodes = finder.bridges(diodes)
    halves, diodes = finder.half_bridges(diodes)
    rectifiers += halves
    fed, inside, diodes = through_capacitors(finder, diodes)
    rectifiers += fed
    made = [(finder.half_wave(diode), diode) for diode in diodes]
    rectifiers = _with_halves([*rectifiers, *(rectifier for rectifier, _ in made if rectifier)])
    single = {r.ref for r in rectifiers if isinstance(r, ChokeFed) and r.halves == 1}
    unsupported, junctions = finder.refused([d for r, d in made if r is None or r.ref in single])
    rectifiers = [r for r in rectifiers if r.ref not in single]
    flattened = [r for r in rectifiers if isinstance(r, BiasFed) and in_one_half_cycle(r, rectifiers)]
    rectifiers = [r for r in rectifiers if r not in flattened]
    untold = [fed_with_ac(r.ref, {*r.reservoir} - {net.size}, (), r.capacitor) for r in flattened]
    unsupported = (*unsupported, *inside, *untold, *_before_chokes(rectifiers, net.size))
    return Rectified(shadow(list_banks(rectifiers)), junctions, unsupported, _notes(net, unsupported))


def _before_chokes(rectifiers, chassis: int):
    """Yield unsupported for the alternating volts before chokes, of which most is ripple."""
    for refs, port in dict.fromkeys((r.ref, r.reservoir) for r in rectifiers if isinstance(r, ChokeFed)):
        yield before_choke(refs, frozenset(port) - {chassis})


def _notes(net: Network, unsupported) -> tuple[Remark, ...]:
    remarks = [remark(RemarkCode.NO_MAINS, part=feed.broken, ref=feed.ref) for feed in net.feeds if feed.broken]
    refs = list(dict.fromkeys(r.refs for r in unsupported if r.draws))
    if refs:
        remarks.append(remark(RemarkCode.LOAD_LEFT_OUT, refs=refs))
    return tuple(remarks)


class _Finder:
    """Walks from diodes to windings on one side and to reservoirs on the other."""

    def __init__(self, net: Network, fitted, coils: list[Coil], touched):
        self.net, self.coils, self.touched = net, coils, touched
        self.fitted = fitted
        self.kinds = {p.ref: p.kind for p in fitted}
        riding = find_unrectified_coils(net, fitted, coils)
        self.drivers = [coil for coil in coils if coil not in riding]
        self.loops = Loops(net, fitted, riding, coils)
        self.ends = defaultdict(list)
        for coil in self.drivers:
            for end in list_ends(coil, net.size):
                self.ends[end.node].append(end)
        self.number = {feed.ref: n for n, feed in enumerate(net.feeds)}

    def bridges(self, diodes: list[Diode]):
        """(rectifiers of bridges, diodes that are left)."""
        rectifiers, loose = [], list(diodes)
        for coil in self.drivers:
            pair = across(coil)
            four = self._find_bridge(pair[0].node, pair[1].node, loose)
            if not four or self._by_halves(coil, four):
                continue
            plus, minus = four[0].cathode, four[2].anode
            if plus == minus:
                raise self._shorted(four[0], plus)
            made = [
                self.filled(plus, minus, near, _in_series(up, down), 1.0, minus, plus, ())
                for near, up, down in ((pair[0], four[0], four[3]), (pair[1], four[1], four[2]))
            ]
            if all(made):
                rectifiers += made
                loose = [d for d in loose if d not in four]
        return rectifiers, loose

    def half_bridges(self, diodes: list[Diode]):
        """(rectifiers, diodes that are left): two diodes of a bridge whose others are open or not there, one from each
        end of a floating winding, which pass one half cycle between them."""
        rectifiers, loose = [], list(diodes)
        for coil in self.drivers:
            if len(coil.nodes) != 2 or self.net.size in coil.nodes:
                continue
            for near, far in (across(coil), across(coil)[::-1]):
                up = [d for d in loose if d.anode == near.node]
                down = [d for d in loose if d.cathode == far.node]
                if len(up) != 1 or len(down) != 1 or up[0] is down[0]:
                    continue
                minus, plus = down[0].anode, up[0].cathode
                made = self.filled(plus, minus, near, _in_series(up[0], down[0]), 1.0, minus, plus, ())
                if made and not isinstance(made, ChokeFed):
                    rectifiers.append(made)
                    idle = ((far.node, plus), (minus, near.node))  # a third diode has no way back, and carries nothing
                    loose = [d for d in loose if d not in (up[0], down[0]) and (d.anode, d.cathode) not in idle]
        return rectifiers, loose

    def _find_bridge(self, one, other, diodes):
        """(up from one end, up from the other, down to the one, down to the other), or None."""
        up, down = defaultdict(list), defaultdict(list)
        for d in diodes:
            up[d.anode].append(d)
            down[d.cathode].append(d)
        return next(
            (
                (a, b, c, d)
                for a in up[one]
                for b in up[other]
                for c in down[one]
                for d in down[other]
                if a.cathode == b.cathode and c.anode == d.anode
            ),
            None,
        )

    def _by_halves(self, coil: Coil, four) -> bool:
        """Does each half of a winding with a centre fill reservoirs of its own?"""
        return len(coil.nodes) == 3 and bool(
            self.loops.close(four[0].cathode, coil.nodes[1]) or self.loops.close(coil.nodes[1], four[2].anode)
        )

    def half_wave(self, diode: Diode):
        """The rectifier a diode is, or None."""
        for end, out, back, sign, series in self._ways(diode):
            if out == back:
                raise self._shorted(diode, out)
            source, sink = (end.node, out) if sign > 0 else (back, end.node)
            if made := self.filled(out, back, end, diode, sign, source, sink, series):
                return made
        return None

    def filled(self, out: int, back: int, end: End, diode: Diode, sign, source, sink, series):
        """The rectifier between an end of a winding and what it fills by way of `out`; None where it fills nothing."""
        loop = self.loops.close(out, back)
        choke = None if loop else self._choke(*((out, back) if sign > 0 else (back, out)))
        if choke:
            made = self.rectifier(end, diode, Loop(out, back, (), 0.0), sign, source, sink, series)
            return choke_fed(made, choke, self.net.condition.hertz)
        if self.loops.lacks_doublers(out, back):
            return None
        if lost := self.loops.lost(out, back):
            return unsmoothed(self.rectifier(end, diode, lost[0], sign, source, sink, series), self.loops, *lost)
        return self.rectifier(end, diode, loop, sign, source, sink, series) if loop else None

    def _choke(self, node: int, other: int):
        """The choke that alone leads on from the rectifiers at `node`, a reservoir to `other` behind it; or None. A
        closed switch between them is wire."""
        at = [p for p in self.net.parts if p.ref in self.kinds and self._is_more_than_wire(p, node)]
        chokes = [p for p in at if p.kind == "inductor"]
        others = [p for p in at if not (p.kind == "resistor" and (p.value or 0.0) >= NO_PATH)]
        if len(chokes) != 1 or any(p.kind not in (*RECTIFYING, "inductor", "mains transformer") for p in others):
            return None
        far = next((n for t in chokes[0].nodes if (n := self.net.nodes[t]) != node), node)
        return chokes[0] if far not in (node, other) and self.loops.close(far, other) else None

    def _is_more_than_wire(self, part, node: int) -> bool:
        nodes = {self.net.nodes[n] for n in part.nodes}
        return node in nodes and not (part.kind in ("switch", "link") and len(nodes) == 1)

    def _ways(self, diode: Diode):
        """Yield (end, + side of the load, - side, sign, resistances before the diode) of windings that may drive a
        diode."""
        for start, far, sign in ((diode.anode, diode.cathode, 1.0), (diode.cathode, diode.anode, -1.0)):
            for end, series in self._near(start):
                if far not in self.ends:
                    yield (end, far, end.back, sign, series) if sign > 0 else (end, end.back, far, sign, series)

    def _near(self, node):
        if node in self.ends:
            return [(end, ()) for end in self.ends[node]]
        for r in self.loops.at[node]:
            beyond = r.b if r.a == node else r.a
            if (
                self.touched[node] == 2
                and beyond in self.ends
                and self.kinds.get(r.ref) in ("resistor", "fuse", "thermistor")
            ):
                return [(end, (r,)) for end in self.ends[beyond]]
        return []

    def rectifier(self, end: End, diode: Diode, loop, sign, source, sink, series) -> Rectifier:
        groups = (
            *end.groups,
            *map(resistance, (*series, *loop.series)),
        )
        return Rectifier(
            "+".join(diode.refs),
            end.coil,
            self.number[end.feed.ref],
            source,
            sink,
            (loop.tail, loop.head),
            end.emf,
            end.ratio,
            groups,
            end.emf / (2**0.5 * end.feed.volts),
            end.seen,
            diode.law,
            diode.strength,
            end.node,
            end.back,
            end.phase,
            sign,
            farads=loop.farads,
            series=tuple(r.ref for r in (*series, *loop.series)),
        )

    def _shorted(self, diode: Diode, node: int):
        part = next(p for p in self.net.parts if p.ref == diode.refs[0])
        return part.wrong(
            "joins",
            f"feeds a shorted supply: {self.net.named(node)} is one wire with its return.",
            "shorted-supply",
            node=self.net.named(node),
        )

    def refused(self, loose: list[Diode]) -> tuple[tuple, tuple]:
        """(what is not calculated, junctions) of the diodes that are no rectifiers, and of what else hangs on
        alternating volts."""
        live, through = self._find_live_nodes()
        unsupported, junctions = [], []
        for diode in loose:
            ways = list(self._ways(diode))
            nodes = {diode.anode, diode.cathode} - {self.net.size}
            if ways:
                choke = next((ref for w in ways if (ref := self.loops.choke(w[1], w[2]))), "")
                unsupported.append(without_reservoir(diode, nodes | ({ways[0][0].back} - {self.net.size}), choke))
            elif nodes & live:
                ends = {n for n in nodes & live if n not in self.ends}
                unsupported.append(fed_with_ac("+".join(diode.refs), nodes, ends, through))
            else:
                junctions.append(diode.junction())
        unsupported += self._on_live(live, through)
        return tuple(unsupported), tuple(junctions)

    def _on_live(self, live, through):
        """Yield unsupported for valves' anodes, Zener diodes and transistors that hang on alternating volts."""
        for part in self.net.parts:
            if part.ref in self.net.condition.not_fitted or part.kind == "rectifier valve":
                continue
            fed = {
                self.net.nodes[n]
                for t, n in part.joins.items()
                if part.kind in ("zener", "neon", OP_AMP, *TRANSISTORS, *REGULATORS)
                or (part.kind in VALVES and t.rpartition(".")[2] in ("anode", "screen"))
            }
            if fed & live:
                yield fed_with_ac(part.ref, fed - {self.net.size}, fed & live, through)

    def _find_live_nodes(self) -> tuple[set[int], str]:
        """(nodes that follow a winding's alternating volts, the capacitor through which some do)."""
        seen = {n for c in self.coils for n in c.nodes if n != self.net.size and not self.loops.quiet(n)}
        edge, through = list(seen), ""
        joined = defaultdict(list)
        for part, a, b in self.net.capacitors:
            joined[a].append((b, part.ref))
            joined[b].append((a, part.ref))
        for r in self.net.resistives:
            if r.ohms <= CARRIES:
                joined[r.a].append((r.b, ""))
                joined[r.b].append((r.a, ""))
        while edge:
            for far, ref in joined[edge.pop()]:
                if far not in seen and far != self.net.size and not self.loops.quiet(far):
                    seen.add(far)
                    edge.append(far)
                    through = through or ref
        return seen, through


def _in_series(up: Diode, down: Diode) -> Diode:
    return replace(
        up,
        law=in_series(up.law, down.law),
        refs=tuple(dict.fromkeys((*up.refs, *down.refs))),
        strength=up.strength if up.law.perveance is not None else down.strength,
    )


def _with_halves(rectifiers: list[Rectifier]) -> list[Rectifier]:
    """Mark those that fill one reservoir in turns as full-wave."""
    twins = defaultdict(set)
    for r in rectifiers:
        twins[r.feed, r.reservoir].add(r.polarity)
    return [replace(r, halves=len(twins[r.feed, r.reservoir])) for r in rectifiers]
