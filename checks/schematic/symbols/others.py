"""Transistors, op-amps, regulators, bridges, transformers and connectors (IEC 60617 parts 3, 5, 6 and 12)."""

from checks.circuit.netlist.regulation import is_primary_name
from checks.circuit.netlist.transistors import MOSFETS
from checks.schematic.model import At, Box, Ink, Shape, Text, Unit
from checks.schematic.symbols.strokes import Symbol, arc, box, circle, coil, line
from checks.schematic.symbols.two_ended import _diode

_SMALL = 0.8


def _arrow(tip: tuple[float, float], back: tuple[float, float]) -> Shape:
    """A filled head at `tip`, coming from `back`."""
    dx, dy = tip[0] - back[0], tip[1] - back[1]
    far = (dx * dx + dy * dy) ** 0.5
    dx, dy = dx / far, dy / far
    x, y = tip
    one, two = (
        (x - 0.5 * dx + 0.22 * dy, y - 0.5 * dy - 0.22 * dx),
        (x - 0.5 * dx - 0.22 * dy, y - 0.5 * dy + 0.22 * dx),
    )
    return line(tip, one, two, ink=Ink.FILLED, closed=True)


def bipolar(unit: Unit) -> Symbol:
    """Base on the left; what current enters is above: an npn's collector, a pnp's emitter."""
    above, below = ("collector", "emitter") if unit.kind.startswith("npn") else ("emitter", "collector")
    ends = {"base": At(-3, 0), above: At(0, -3), below: At(0, 3)}
    side = 1 if below == "emitter" else -1
    knee = (0, 1.3 * side)
    arrow = _arrow(knee, (-0.8, 0.4 * side)) if side == 1 else _arrow((-0.8, -0.4), (0, -1.3))
    shapes = [
        circle(-0.3, 0, 1.7),
        line((-3, 0), (-0.8, 0)),
        line((-0.8, -1), (-0.8, 1)),
        line((-0.8, -0.4), (0, -1.3), (0, -3)),
        line((-0.8, 0.4), (0, 1.3), (0, 3)),
        arrow,
    ]
    return Symbol(tuple(shapes), ends, Box(-2.4, -2.5, 1.7, 2.5), _lead_numbers(unit, ends))


def mosfet(unit: Unit) -> Symbol:
    """Gate on the left; what current enters is above: an n channel's drain, a p channel's source."""
    is_n = unit.kind.startswith("n")
    above, below = ("drain", "source") if is_n else ("source", "drain")
    ends = {"gate": At(-3, 0), above: At(0, -3), below: At(0, 3)}
    source = 1 if is_n else -1
    shapes = [
        circle(-0.4, 0, 1.9),
        line((-3, 0), (-1.5, 0)),
        line((-1.5, -1), (-1.5, 1)),
        *(line((-1.1, y - 0.32), (-1.1, y + 0.32)) for y in (-0.9, 0, 0.9)),
        line((-1.1, -0.9), (0, -0.9), (0, -3)),
        line((-1.1, 0.9), (0, 0.9), (0, 3)),
        line((-1.1, 0), (0, 0), (0, 0.9 * source)),
        _arrow((-1.1, 0), (-0.3, 0)) if is_n else _arrow((-0.3, 0), (-1.1, 0)),
    ]
    return Symbol(tuple(shapes), ends, Box(-2.5, -2.5, 1.7, 2.5), _lead_numbers(unit, ends))


def _lead_numbers(unit: Unit, ends: dict[str, At]) -> tuple[Text, ...]:
    texts = []
    for name, at in ends.items():
        if name in unit.pins:
            place = At(0.4, at.y * 0.75) if at.x == 0 else At(-2.5, -0.7)
            texts.append(Text(unit.pins[name], place, "start" if at.x == 0 else "end", size=_SMALL))
    return tuple(texts)


def transistor(unit: Unit) -> Symbol:
    return mosfet(unit) if unit.kind in MOSFETS else bipolar(unit)


def op_amp(unit: Unit) -> Symbol:
    ends = {
        "minus_input": At(-4, -1),
        "plus_input": At(-4, 1),
        "output": At(4, 0),
        "plus_supply": At(0, -3),
        "minus_supply": At(0, 3),
    }
    shapes = [
        line((-2.5, -2.5), (2.5, 0), (-2.5, 2.5), closed=True),
        line((-4, -1), (-2.5, -1)),
        line((-4, 1), (-2.5, 1)),
        line((2.5, 0), (4, 0)),
        line((0, -3), (0, -1.25)),
        line((0, 3), (0, 1.25)),
        line((-2.2, -1), (-1.6, -1)),
        line((-2.2, 1), (-1.6, 1)),
        line((-1.9, 0.7), (-1.9, 1.3)),
    ]
    return Symbol(tuple(shapes), ends, Box(-3.5, -2.7, 3.5, 2.7))


def regulator(unit: Unit) -> Symbol:
    ends = {"input": At(-4, 0), "output": At(4, 0), "common": At(0, 3)}
    shapes = [
        box(-2.5, -1.5, 2.5, 1.5),
        line((-4, 0), (-2.5, 0)),
        line((2.5, 0), (4, 0)),
        line((0, 1.5), (0, 3)),
    ]
    names = (
        Text("IN", At(-2.2, 0), size=_SMALL),
        Text("OUT", At(2.3, 0), "end", size=_SMALL),
        Text("COM", At(0, 0.9), "middle", size=0.7),
    )
    return Symbol(tuple(shapes), ends, Box(-3.5, -1.5, 3.5, 2.5), names)


def bridge(unit: Unit) -> Symbol:
    """The four ends of a diamond with a diode in it that points to the plus end."""
    ends = {"ac1": At(0, -4), "ac2": At(0, 4), "minus": At(-4, 0), "plus": At(4, 0)}
    diode = [
        Shape(tuple(At(0.6 * (p.x - 2), 0.6 * p.y) for p in s.points), s.ink, s.radius, s.closed) for s in _diode()
    ]
    shapes = [
        line((0, -2.6), (2.6, 0), (0, 2.6), (-2.6, 0), closed=True),
        line((0, -4), (0, -2.6)),
        line((0, 4), (0, 2.6)),
        line((-4, 0), (-2.6, 0)),
        line((4, 0), (2.6, 0)),
        *diode,
    ]
    names = (Text("+", At(3.2, -0.6), "middle", size=_SMALL), Text("–", At(-3.2, -0.6), "middle", size=_SMALL))
    return Symbol(tuple(shapes), ends, Box(-3.6, -3.5, 3.6, 3.5), names)


HALF, APART = 4, 2  # of a winding from end to end (per half where it is tapped), and between two windings


def find_sides(unit: Unit) -> tuple[list, list]:
    """(windings drawn on the left, on the right): the primaries are on the left."""
    named = [w for w in unit.windings if is_primary_name(w[0])]
    left = named or list(unit.windings[:1])
    return left, [w for w in unit.windings if w not in left]


def transformer(unit: Unit, turned_over: bool = False) -> Symbol:
    """Windings left and right of an iron core. The first end of the first winding is the origin; `turned_over` draws
    the left windings from below upwards."""
    left, right = find_sides(unit)
    ends: dict[str, At] = {}
    shapes: list[Shape] = []
    texts: list[Text] = []
    for side, windings, over in ((-1, left, turned_over), (1, right, False)):
        top = 0.0
        for _name, terminals, caption in reversed(windings) if over else windings:
            names = tuple(reversed(terminals)) if over else terminals
            top = _winding(side, names, caption, top, ends, shapes, texts) + APART
    tall = max(at.y for at in ends.values())
    shapes += [line((x, -0.2), (x, tall + 0.2)) for x in (-0.25, 0.25)]
    return Symbol(tuple(shapes), ends, Box(-3.5, -0.5, 3.5, tall + 0.5), tuple(texts))


def _winding(side, terminals, caption, top, ends, shapes, texts) -> float:
    tall = HALF * (len(terminals) - 1)
    shapes += coil(side * 1.0, top, tall, -side)
    for n, name in enumerate(terminals):
        y = top + HALF * n
        ends[name] = At(side * 4, y)
        shapes.append(line((side * 1.0, y), (side * 4, y)))
    if caption:
        texts.append(Text(caption, At(side * 1.7, top + 2), "start" if side > 0 else "end", size=0.7))
    return top + tall


def connector(unit: Unit) -> Symbol:
    """A box of named terminals, two squares apart, their ends to the right of it."""
    wide = max(3.0, max(len(name) for name in unit.joins) * 0.5 + 1.2)
    ends, shapes, texts = {}, [], []
    for n, name in enumerate(unit.joins):
        ends[name] = At(0, 2 * n)
        shapes += [line((-1, 2 * n), (0, 2 * n)), circle(-1.3, 2 * n, 0.25, Ink.PAPER)]
        texts.append(Text(name, At(-1.8, 2 * n), "end", size=_SMALL))
    tall = 2 * len(ends) - 2
    left = -1.0 - wide
    case = [line((-1, -1), (left, -1), (left, tall + 1), (-1, tall + 1), closed=True)]
    if unit.form == "speaker":
        case += _speaker(left, tall / 2)
        left -= 2
    return Symbol((*case, *shapes), ends, Box(left, -1, -0.5, tall + 1), tuple(texts))


def _speaker(x: float, y: float) -> list[Shape]:
    """A loudspeaker, opening away from its terminals."""
    return [
        line(
            (x, y - 0.5), (x - 0.7, y - 0.5), (x - 1.7, y - 1.2), (x - 1.7, y + 1.2), (x - 0.7, y + 0.5), (x, y + 0.5)
        ),
        line((x - 0.7, y - 0.5), (x - 0.7, y + 0.5)),
    ]


__all__ = [
    "arc",
    "bipolar",
    "bridge",
    "connector",
    "mosfet",
    "op_amp",
    "regulator",
    "find_sides",
    "transformer",
    "transistor",
]
