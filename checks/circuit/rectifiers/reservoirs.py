"""Where a rectifier's pulses go: out of its winding, through resistances to a reservoir, and back to the winding."""

from collections import Counter, defaultdict
from dataclasses import dataclass, replace

from checks.circuit.netlist.network import Network
from checks.circuit.netlist.wires import Groups

RESERVOIR = 0.5e-6  # F; less than this is interference suppression (common practice)
RETURN_OHMS = 1000.0  # Ω; a resistor in a supply's return, such as one for back bias, has no more (common practice)
STEPS, MOST_OHMS = 4, 5000.0  # how far, and through how much, a reservoir may lie from its rectifier
FURTHER_OHMS = 1e5  # through how much the next capacitor may lie from where one is missing
CAPACITORS = ("capacitor", "electrolytic")
PLAIN = ("resistor", "fuse", "lamp", "potentiometer", "thermistor")


@dataclass(frozen=True)
class Loop:
    """The reservoir between `tail` (+) and `head` (-), its farads, and the resistances on the way there and back."""

    tail: int
    head: int
    series: tuple
    farads: float


class Loops:
    """Finds the reservoir of a current that leaves a winding at one node and returns at another."""

    def __init__(self, net: Network, fitted, riding=(), coils=()):
        """`riding` are windings that drive no rectifier: pulses pass them as they pass a resistor. `coils` are all."""
        self.net, self.kinds = net, {p.ref: p.kind for p in fitted}
        self.riding = [(coil.name[0], {*coil.nodes}) for coil in riding]
        self.at = defaultdict(list)
        for r in net.resistives:
            self.at[r.a].append(r)
            self.at[r.b].append(r)
        self.held = Groups()
        self.farads: Counter = Counter()
        for part, a, b in net.capacitors:
            if a != b and part.value >= RESERVOIR:
                self.held.join(a, b)
                for key in (a, b, frozenset((a, b))):
                    self.farads[key] += part.value

        self.returns = self._find_returns(coils)
        self.live = {coil.nodes[n] for coil in coils if coil not in riding for n in (0, -1)} - {net.size}
        self.whole = self._with_lost(fitted, riding, coils)

    def _with_lost(self, fitted, riding, coils) -> "Loops | None":
        """The loops there would be with the capacitors that are not fitted; None where all are."""
        net = self.net
        lost = [p for p in net.parts if p.ref in net.condition.not_fitted and p.kind in CAPACITORS]
        if not any((p.value or 0.0) >= RESERVOIR for p in lost):
            return None
        present = {p.ref for p in fitted} | {p.ref for p in lost}
        capacitors = (*net.capacitors, *((p, *(net.nodes[n] for n in p.joins.values())) for p in lost))
        condition = replace(net.condition, not_fitted=net.condition.not_fitted - present)
        return Loops(replace(net, capacitors=capacitors, condition=condition), fitted, riding, coils)

    def beside(self, node: int) -> tuple:
        """The resistances from a node to what a large capacitor, or the chassis, holds."""
        return tuple(r for r in self.at[node] if r.ohms <= FURTHER_OHMS and self.quiet(r.b if r.a == node else r.a))

    def lost(self, out: int, back: int) -> tuple[Loop, Loop | None] | None:
        """(the loop to a capacitor that is not fitted, the way on from there to the next one or None); None where
        nothing is missing on the way to the reservoir, and for a doubler's capacitors."""
        ought = self._missing(out, back)
        if ought is None or self._is_doublers(ought):
            return None
        return ought, self.close(ought.tail, ought.head, most=FURTHER_OHMS)

    def lacks_doublers(self, out: int, back: int) -> bool:
        """Does a doubler's capacitor miss on the way? The pulses may find another reservoir, behind a filter, through
        what is left of the doubler: by how much they fill it is not calculated."""
        ought = self._missing(out, back)
        return ought is not None and self._is_doublers(ought)

    def _missing(self, out: int, back: int) -> Loop | None:
        """The loop there ought to be, where there is none or another."""
        ought, actual = self.whole.close(out, back) if self.whole else None, self.close(out, back)
        is_there = actual and ought and (actual.tail, actual.head) == (ought.tail, ought.head)
        return None if is_there else ought

    def _is_doublers(self, loop: Loop) -> bool:
        """Does it lead back to an end of a winding?"""
        return bool({loop.tail, loop.head} & self.live)

    def quiet(self, node: int) -> bool:
        """Does a large capacitor, or a chain of them, hold the node to the chassis, or to a winding's quiet end?"""
        return any(self.held.together(node, held) for held in (self.net.size, *self.returns))

    def _find_returns(self, coils) -> list[int]:
        """The ends (or centres) of windings that a small resistor, by way of large capacitors or not, ties to the
        chassis where it ties no other: a supply's return through a resistor, as for back bias. A heater winding with a
        resistor from each end has none."""
        tied = Groups()
        for part, a, b in self.net.capacitors:
            if part.value >= RESERVOIR:
                tied.join(a, b)
        for r in self.net.resistives:
            if self.kinds.get(r.ref) in PLAIN and r.ohms <= RETURN_OHMS:
                tied.join(r.a, r.b)
        tied_ends = [[n for n in coil.nodes if tied.together(n, self.net.size)] for coil in coils]
        return [ends[0] for ends in tied_ends if len(ends) == 1 and ends[0] != self.net.size]

    def close(self, out: int, back: int, kinds=PLAIN, most: float = MOST_OHMS) -> Loop | None:
        """The way with the least resistance; None where no large capacitor closes it."""
        ways = [
            (ohms + more, tail, head, (*there, *home))
            for tail, (ohms, there) in self._reach_from(out, kinds, most).items()
            for head, (more, home) in self._reach_from(back, kinds, most).items()
            if tail != head and self.held.together(tail, head)
        ]
        if not ways:
            return None
        _ohms, tail, head, series = min(ways, key=lambda w: (w[0], w[1] != out, w[2] != back))
        return Loop(tail, head, series, self._between(tail, head))

    def choke(self, out: int, back: int) -> str:
        """The choke without which the pulses would find no reservoir; empty where none would help."""
        loop = self.close(out, back, (*PLAIN, "inductor"))
        return next((r.ref for r in loop.series if self.kinds.get(r.ref) == "inductor"), "") if loop else ""

    def _is_riding(self, r) -> bool:
        return any(r.ref == ref and {r.a, r.b} <= nodes for ref, nodes in self.riding)

    def _between(self, tail: int, head: int) -> float:
        direct = self.farads[frozenset((tail, head))]
        if direct:
            return direct
        return 1 / (1 / self.farads[tail] + 1 / self.farads[head])  # by way of a third node, as a rule the chassis

    def _reach_from(self, start: int, kinds, most: float) -> dict:
        """Node -> (ohms, resistances on the way); nothing is reached through the chassis."""
        reached: dict[int, tuple] = {start: (0.0, ())}
        edge = [start]
        for _ in range(STEPS):
            further = []
            for node in edge:
                if node == self.net.size:
                    continue
                ohms, way = reached[node]
                for r in self.at[node]:
                    far = r.b if r.a == node else r.a
                    if (
                        (self.kinds.get(r.ref) in kinds or self._is_riding(r))
                        and r.ohms <= most
                        and ohms + r.ohms < reached.get(far, (float("inf"),))[0]
                    ):
                        reached[far] = (ohms + r.ohms, (*way, r))
                        further.append(far)
            edge = further
        return reached
