"""Four diodes that make a bridge, drawn as the diamond they are known by."""

from collections import Counter
from dataclasses import dataclass

from checks.schematic.model import At, Box, Ink, Shape, Text, Unit
from checks.schematic.symbols.strokes import Symbol, line

# Where each diode lies about the middle, from its anode to its cathode: the ends of the diamond.
AC1, AC2, PLUS, MINUS = At(0, -4), At(0, 4), At(4, 0), At(-4, 0)


@dataclass(frozen=True)
class Ring:
    ac1: str
    ac2: str
    diodes: tuple[Unit, ...]  # ac1 to plus, ac2 to plus, minus to ac1, minus to ac2

    @property
    def places(self) -> tuple[tuple[Unit, At, At], ...]:
        return tuple(zip(self.diodes, (AC1, AC2, MINUS, MINUS), (PLUS, PLUS, AC1, AC2), strict=True))


def list_rings(units: list[Unit], secondary: set[str]) -> list[Ring]:
    """Bridges between two nets of a winding; a diode beside another is in none."""
    rings = []
    ways = {
        (u.joins.get("anode", ""), u.joins.get("cathode", "")): u
        for u in units
        if u.kind == "diode" and all(u.joins.values())
    }
    twice = Counter((u.joins.get("anode", ""), u.joins.get("cathode", "")) for u in units if u.kind == "diode")
    nets = sorted({net for way in ways for net in way})
    for ac1 in (n for n in nets if n in secondary):
        for ac2 in (n for n in nets if n in secondary and n > ac1):
            pluses = [n for n in nets if (ac1, n) in ways and (ac2, n) in ways]
            minuses = [n for n in nets if (n, ac1) in ways and (n, ac2) in ways]
            if len(pluses) == len(minuses) == 1:
                keys = ((ac1, pluses[0]), (ac2, pluses[0]), (minuses[0], ac1), (minuses[0], ac2))
                if all(twice[key] == 1 for key in keys):
                    rings.append(Ring(ac1, ac2, tuple(ways[key] for key in keys)))
    return rings


def slanting_diode(start: At, stop: At) -> Symbol:
    """A diode from `start` to `stop`, a quarter of the diamond."""
    dx, dy = (stop.x - start.x) / 4, (stop.y - start.y) / 4

    def at(far: float, aside: float) -> tuple[float, float]:
        return start.x + far * dx - aside * dy, start.y + far * dy + aside * dx

    triangle = line(at(1.6, -0.5), at(2.3, 0), at(1.6, 0.5), ink=Ink.PAPER, closed=True)
    shapes: tuple[Shape, ...] = (line(start, stop), triangle, line(at(2.3, -0.5), at(2.3, 0.5)))
    left, right = sorted((start.x, stop.x))
    top, bottom = sorted((start.y, stop.y))
    return Symbol(shapes, {"anode": start, "cathode": stop}, Box(left + 0.1, top + 0.1, right - 0.1, bottom - 0.1))


def corner_label(unit: Unit, start: At, stop: At) -> tuple[Text, ...]:
    """The reference outside the diamond, in the corner of the diode's quarter; the type stays in the parts list."""
    x, y = (start.x + stop.x) / 2, (start.y + stop.y) / 2
    anchor = "start" if x > 0 else "end"
    return (Text(unit.label, At(x + (1.0 if x > 0 else -1.0), y + (-1.2 if y < 0 else 1.2)), anchor, is_strong=True),)
