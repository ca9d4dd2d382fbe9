"""Pieces that lead nowhere: isolated pieces, electrodes that nothing feeds, loose ends."""

from collections import Counter, defaultdict

from checks.circuit.netlist.op_amps import OP_AMP
from checks.circuit.netlist.regulation import list_secondaries
from checks.circuit.netlist.sources import SUPPLIES
from checks.circuit.netlist.terminals import VALVES, groups_of_pins, is_heater, one_way
from checks.circuit.netlist.transistors import MAIN
from checks.circuit.netlist.wires import CHASSIS, Groups

# Where a mains lead comes in that no socket takes, so that nothing of the list is joined to it.
MAINS_LEAD = ("mains.inlet", "mains.live", "mains.neutral")

ALONE = ("connector", "hardware", "mains transformer", "output transformer")
# pass DC both ways
THROUGH = ("resistor", "inductor", "fuse", "lamp", "potentiometer", "zener", "link", "switch", "neon", "thermistor")


def isolated_pieces(parts):
    """Yield an error for every piece of two or more parts that no part joins to chassis, a winding or a connector."""
    joined, outside = Groups(), {CHASSIS}
    for part in parts:
        for group in groups_of_pins(part):
            for node in group:
                joined.join(group[0], node)
            if part.windings or part.kind == "connector":
                outside.update(group)
    roots = {joined.find(node) for node in outside}
    pieces: defaultdict = defaultdict(dict)
    for part in parts:
        for group in groups_of_pins(part):
            if group and joined.find(group[0]) not in roots:
                pieces[joined.find(group[0])][part.ref] = part
    for members in pieces.values():
        if len(members) > 1:
            first = next(iter(members.values()))
            yield first.wrong(
                "joins",
                f"lead nowhere: {' and '.join(members)} are joined to each other, to the chassis by nothing.",
                "isolated-pieces",
                parts=list(members),
            )


def loose_ends(parts, nodes: dict, named=frozenset()):
    """Yield an error for every end of a part at a node that nothing else touches (a slip of the pen, as a rule).

    `nodes` are numbers as of wires.merged_nodes; a link's or switch's end counts by its name, and is not loose where a
    check or a point names it (`named`).
    """
    touched = Counter(nodes[n] for p in parts for n in p.nodes)
    names = Counter(n for p in parts for n in p.nodes)
    for part in parts:
        if part.kind in ALONE:
            continue
        for terminal, node in part.joins.items():
            if part.kind in ("link", "switch"):
                alone = names[node] == 1 and node not in named and node != CHASSIS
            else:
                heater = part.kind in VALVES and is_heater(terminal)
                alone = touched[nodes[node]] == 1 and nodes[node] != nodes[CHASSIS] and not heater
            if alone and node not in MAINS_LEAD:
                yield part.wrong(
                    f"joins.{terminal}", f"is alone at node {node}: nothing else joins it.", "loose-end", node=node
                )


class Feeds:
    """Where a valve's current can come from and go to: against and along its direction, the chassis left out."""

    def __init__(self, parts, nodes: dict):
        self.nodes, self.chassis = nodes, nodes[CHASSIS]
        self.up: defaultdict = defaultdict(set)
        self.down: defaultdict = defaultdict(set)
        self.sources: set = set()
        for part in parts:
            self._add(part)
        windings = {nodes[n] for p in parts for w in list_secondaries(p) for n in w.nodes} - {self.chassis}
        for part in parts:  # a doubler's capacitor brings what its winding gives
            ends = {nodes[n] for n in part.joins.values()}
            if part.kind in ("capacitor", "electrolytic") and ends & windings:
                self.sources |= ends - {self.chassis}

    def _add(self, part):
        at = {t: self.nodes[n] for t, n in part.joins.items()}
        if part.kind in ("mains transformer", "connector", *SUPPLIES):
            ends = [n for w in list_secondaries(part) for n in w.nodes] + list(part.joins.values())
            self.sources.update(self.nodes[n] for n in ends)
        elif part.windings or part.kind in THROUGH:
            for group in groups_of_pins(part):
                for one in group:
                    self.up[self.nodes[one]] |= {self.nodes[n] for n in group}
                    self.down[self.nodes[one]] |= {self.nodes[n] for n in group}
        for into, out in one_way(part):
            if into in at and out in at:
                self.up[at[out]].add(at[into])
                self.down[at[into]].add(at[out])

    def _reaches(self, start, ways) -> bool:
        seen, ahead = {self.chassis}, [start]
        while ahead:
            node = ahead.pop()
            if node in self.sources and node != self.chassis:
                return True
            if node not in seen:
                seen.add(node)
                ahead.extend(ways[node])
        return False

    def fed(self, electrode: str, cathode: str) -> bool:
        """Does anything bring current to the electrode? The chassis does for a cathode that hangs on a negative
        supply."""
        return self._reaches(self.nodes[electrode], self.up) or self._reaches(self.nodes[cathode], self.down)


def is_unused(part, section: str, nodes: dict) -> bool:
    """Are all electrodes of a valve's section at the chassis, as those of a spare one are?"""
    ends = [node for terminal, node in part.joins.items() if section and terminal.startswith(f"{section}.")]
    return bool(ends) and {nodes[node] for node in ends} == {nodes[CHASSIS]}


def unpowered_electrodes(parts, nodes: dict):
    """Yield an error for every anode and screen, and every transistor's way in, that no supply reaches."""
    feeds = Feeds(parts, nodes)
    for part in parts:
        if part.kind in MAIN or part.kind == OP_AMP:
            into, out = MAIN.get(part.kind, ("plus_supply", "minus_supply"))
            if not feeds.fed(part.joins[into], part.joins[out]):
                yield part.wrong(
                    f"joins.{into}",
                    f"is fed by nothing: no DC path leads from a supply to node {part.joins[into]}.",
                    "not-fed",
                    node=part.joins[into],
                )
        if part.kind not in VALVES or part.kind == "rectifier valve":
            continue
        for terminal, node in part.joins.items():
            section, _, name = terminal.rpartition(".")
            cathode = part.joins.get(f"{section}.cathode" if section else "cathode")
            if is_unused(part, section, nodes):
                continue
            if name in ("anode", "screen") and not feeds.fed(node, cathode):
                yield part.wrong(
                    f"joins.{terminal}",
                    f"is fed by nothing: no DC path leads from a supply to node {node}.",
                    "not-fed",
                    node=node,
                )
