"""Wires that should not be: a winding or a smoothing capacitor shorted, the mains on the chassis or on a secondary."""
from collections import defaultdict, deque
from itertools import combinations

from checks.circuit.wires import CHASSIS

WIRES = ("link", "switch", "fuse")  # what makes one wire of two, as a fault sees it; switches stand closed
TWO_ENDED = ("resistor", "capacitor", "electrolytic", "inductor", "lamp", "diode", "zener", *WIRES)


def shorts(parts):
    """Yield an error for every short that wires, links, closed switches and fuses make."""
    ways = _ways(parts, WIRES)
    for part in parts:
        if part.kind in TWO_ENDED and len(set(part.joins.values())) == 1:
            yield part.wrong("joins", f"joins node {next(iter(part.joins.values()))} to itself.", "shorted")
        elif part.kind in ("capacitor", "electrolytic"):
            yield from _across(part, _ways(parts, ("link",)))
        elif part.kind == "mains transformer":
            yield from _windings(part, ways)
            yield from _mains(part, parts, ways)


def _ways(parts, kinds) -> dict:
    """Node -> [(node at the other end, reference)] of the parts of those kinds."""
    found = defaultdict(list)
    for part in parts:
        if part.kind in kinds:
            one, other = part.joins.values()
            found[one].append((other, part.ref))
            found[other].append((one, part.ref))
    return found


def way(ways: dict, start: str, goal: str) -> list[str] | None:
    """References of the parts on the shortest way from node to node; None where there is none."""
    seen, ahead = {start}, deque([(start, [])])
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
    refs = way(links, one, other)
    if refs is not None:
        yield part.wrong("joins", f"are one wire: {one} and {other} are joined{_by(refs)}, and what it stands across is shorted.",
                         "shorted")


def _windings(part, ways):
    for winding in part.windings:
        for one, other in combinations(winding.nodes, 2):
            refs = way(ways, one, other)
            if refs is not None:
                yield part.wrong(f"winding {winding.name}: joins", f"are one wire: {one} and {other} are joined{_by(refs)}, and the "
                                 "winding is shorted.", "shorted")
                break


def _mains(part, parts, ways):
    """The mains joined to what builders touch: one error a transformer is enough."""
    mains = [n for w in part.windings if w.name == "primary" for n in w.nodes]
    others = [CHASSIS, *(n for p in parts for w in p.windings for n in w.nodes if n not in mains)]
    for live in mains:
        for other in dict.fromkeys(others):
            refs = way(ways, live, other)
            if refs is not None:
                yield part.wrong("winding primary: joins", f"put the mains on {'the chassis' if other == CHASSIS else other}: {live} "
                                 f"and {other} are one wire{_by(refs)}.", "live")
                return
