"""A drawn schematic read back as a person with a pencil would: by geometry alone, without the code that drew it."""

from itertools import combinations

NEAR = 1e-6


class Joined:
    """Things that are one piece of wire."""

    def __init__(self):
        self.parent = {}

    def root(self, thing):
        self.parent.setdefault(thing, thing)
        while self.parent[thing] != thing:
            thing = self.parent[thing]
        return thing

    def join(self, one, other):
        self.parent[self.root(one)] = self.root(other)


def lies_on(point, wire) -> bool:
    (x, y), (x1, y1), (x2, y2) = point, wire.start, wire.stop
    across = (x2 - x1) * (y - y1) - (y2 - y1) * (x - x1)
    inside = min(x1, x2) - NEAR <= x <= max(x1, x2) + NEAR and min(y1, y2) - NEAR <= y <= max(y1, y2) + NEAR
    return abs(across) < NEAR and inside


def traced(schematic) -> set[frozenset]:
    """The pins that hang together: wires that touch at an end of either, pins and flags on wires, flags of one name.
    Wires that only cross are not joined."""
    joined = Joined()
    pins = []
    for n, section in enumerate(schematic.sections):
        ends = [((s.unit.ref, t), at) for s in section.symbols for t, at in s.ends.items()]
        pins += [pin for pin, _at in ends]
        things = [(("pin", *pin), at) for pin, at in ends]
        things += [(("flag", flag.net), flag.at) for flag in section.flags]
        for (one, at), (other, there) in combinations(things, 2):
            if at == there:
                joined.join(one, other)
        for k, wire in enumerate(section.wires):
            for thing, at in things:
                if lies_on(at, wire):
                    joined.join(thing, ("wire", n, k))
            for m, other in enumerate(section.wires[:k]):
                touches = any(lies_on(p, wire) for p in (other.start, other.stop))
                if touches or any(lies_on(p, other) for p in (wire.start, wire.stop)):
                    joined.join(("wire", n, k), ("wire", n, m))
    groups: dict = {}
    for pin in pins:
        groups.setdefault(joined.root(("pin", *pin)), set()).add(pin)
    return {frozenset(group) for group in groups.values()}


def wired(components) -> set[frozenset]:
    """The same as the parts list has it; an end that joins nothing is by itself."""
    groups: dict = {}
    for part in components:
        for terminal, net in part.joins.items():
            groups.setdefault(net or (part.ref, terminal), set()).add((part.ref, terminal))
    return {frozenset(group) for group in groups.values()}


def passes_through(wire, box) -> bool:
    """Does any of the wire lie inside the box?"""
    left, right = sorted((wire.start.x, wire.stop.x))
    top, bottom = sorted((wire.start.y, wire.stop.y))
    return left < box.right - NEAR and right > box.left + NEAR and top < box.bottom - NEAR and bottom > box.top + NEAR


def overlap(one, other) -> bool:
    gap = 0.01
    return (
        one.left + gap < other.right
        and other.left + gap < one.right
        and one.top + gap < other.bottom
        and other.top + gap < one.bottom
    )


def faults_of(schematic) -> list[str]:
    """Symbols on symbols, wires through symbols or words, words on words or on symbols that are not theirs."""
    results = []
    for section in schematic.sections:
        bodies = [(s.unit.key, s.body) for s in section.symbols]
        phrase = [(s.unit.key, t.lettering, t.box) for s in section.symbols for t in s.texts]
        phrase += [(("flag", n), t.lettering, t.box) for n, f in enumerate(section.flags) for t in f.texts]
        results += [f"{a} on {b}" for (a, one), (b, other) in combinations(bodies, 2) if overlap(one, other)]
        results += [f"{a} on {b}" for (_k, a, one), (_j, b, other) in combinations(phrase, 2) if overlap(one, other)]
        for wire in section.wires:
            results += [f"{wire.net} through {key}" for key, box in bodies if passes_through(wire, box)]
            results += [f"{wire.net} through {text!r}" for _key, text, box in phrase if passes_through(wire, box)]
        for key, text, box in phrase:
            results += [f"{text!r} on {other}" for other, body in bodies if other != key and overlap(box, body)]
    return results
