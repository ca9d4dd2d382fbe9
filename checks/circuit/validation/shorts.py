"""Wires that should not be: a winding or a smoothing capacitor shorted, the mains on the chassis or on a secondary."""

from collections import defaultdict, deque
from itertools import combinations, permutations

from checks.circuit.netlist.regulation import list_primaries
from checks.circuit.netlist.terminals import one_way
from checks.circuit.netlist.wires import CHASSIS

WIRES = ("link", "switch", "fuse")  # what makes one wire of two, as a fault sees it; switches stand closed
RECTIFIERS = ("diode", "bridge", "rectifier valve")
TWO_ENDED: tuple[str, ...] = (
    "resistor",
    "capacitor",
    "electrolytic",
    "inductor",
    "lamp",
    "diode",
    "zener",
    "neon",
    "thermistor",
)
TWO_ENDED += WIRES


def shorts(parts):
    """Yield an error for every short that wires, links, closed switches and fuses make."""
    ways = _links_by_node(parts, WIRES)
    for part in parts:
        if part.kind in TWO_ENDED and len(set(part.joins.values())) == 1:
            node = next(iter(part.joins.values()))
            yield part.wrong("joins", f"joins node {node} to itself.", "joined-to-itself", node=node)
        elif part.kind in ("capacitor", "electrolytic"):
            yield from _across(part, _links_by_node(parts, ("link",)))
        elif part.kind == "mains transformer":
            yield from _windings(part, ways)
            yield from _diodes_across(part, parts)
            yield from _mains(part, parts, ways)


def _links_by_node(parts, kinds) -> dict:
    """Node -> [(node at the other end, reference)] of the parts of those kinds."""
    ways = defaultdict(list)
    for part in parts:
        if part.kind in kinds:
            one, other = part.joins.values()
            ways[one].append((other, part.ref))
            ways[other].append((one, part.ref))
    return ways


def find_shortest_path(ways: dict, start: str, goal: str) -> list[str] | None:
    """References of the parts on the shortest way from node to node; None where there is none."""
    seen = {start}
    ahead: deque = deque([(start, [])])
    while ahead:
        node, refs = ahead.popleft()
        if node == goal:
            return refs
        for other, ref in ways[node]:
            if other not in seen:
                seen.add(other)
                ahead.append((other, [*refs, ref]))
    return None


def _by(refs: list[str]) -> str:
    return f", by {' and '.join(refs)}" if refs else ""


def _across(part, links):
    one, other = part.joins.values()
    refs = find_shortest_path(links, one, other)
    if refs is not None:
        yield part.wrong(
            "joins",
            f"are one wire: {one} and {other} are joined{_by(refs)}, and what it stands across is shorted.",
            "capacitor-shorted",
            nodes=[one, other],
            by=refs,
        )


def _windings(part, ways):
    for winding in part.windings:
        for one, other in combinations(winding.nodes, 2):
            refs = find_shortest_path(ways, one, other)
            if refs is not None:
                yield part.wrong(
                    f"winding {winding.name}: joins",
                    f"are one wire: {one} and {other} are joined{_by(refs)}, and the winding is shorted.",
                    "winding-shorted",
                    winding=winding.name,
                    nodes=[one, other],
                    by=refs,
                )
                break


def _diodes_across(part, parts):
    """Diodes one after the other from a winding's node to another of its nodes: no load lies between, half of each
    cycle."""
    ways, by_ref = _links_by_node(parts, WIRES), {p.ref: p for p in parts}
    for diode in parts:
        for into, out in one_way(diode):
            if into in diode.joins and out in diode.joins and diode.kind in RECTIFIERS:
                ways[diode.joins[into]].append((diode.joins[out], diode.ref))
    for winding in part.windings:
        for one, other in permutations(dict.fromkeys(winding.nodes), 2):
            refs = [ref for ref in find_shortest_path(ways, one, other) or [] if by_ref[ref].kind in RECTIFIERS]
            if refs:
                passing = f"{' and '.join(refs)} {'pass' if len(refs) > 1 else 'passes'}"
                yield by_ref[refs[0]].wrong(
                    "joins",
                    f"are the wrong way round somewhere: {passing} current from {one} to {other}, ends "
                    f"of {part.ref}'s winding {winding.name}, with no load between.",
                    "diodes-short",
                    diodes=refs,
                    nodes=[one, other],
                    transformer=part.ref,
                    winding=winding.name,
                )
                return


def _mains(part, parts, ways):
    """The mains joined to what builders touch: one error a transformer is enough."""
    mains = [n for w in list_primaries(part) for n in w.nodes]
    others = [CHASSIS, *(n for p in parts for w in p.windings for n in w.nodes if n not in mains)]
    for live in mains:
        for other in dict.fromkeys(others):
            refs = find_shortest_path(ways, live, other)
            if refs is not None:
                yield part.wrong(
                    "winding primary: joins",
                    f"put the mains on {'the chassis' if other == CHASSIS else other}: {live} "
                    f"and {other} are one wire{_by(refs)}.",
                    "mains-live",
                    live=live,
                    node=other,
                    by=refs,
                )
                return
