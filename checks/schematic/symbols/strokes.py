"""Strokes that symbols are made of, and the turning of them."""

import math
from dataclasses import dataclass

from checks.schematic.model import At, Box, Ink, Shape, Text


@dataclass(frozen=True)
class Symbol:
    """A symbol about its own origin: `ends` are where wires begin, `body` is what no wire may enter."""

    shapes: tuple[Shape, ...]
    ends: dict[str, At]
    body: Box
    texts: tuple[Text, ...] = ()


def line(*points: tuple[float, float], ink: Ink = Ink.LINE, closed: bool = False) -> Shape:
    return Shape(tuple(At(*point) for point in points), ink, closed=closed)


def box(left: float, top: float, right: float, bottom: float, ink: Ink = Ink.PAPER) -> Shape:
    return line((left, top), (right, top), (right, bottom), (left, bottom), ink=ink, closed=True)


def circle(x: float, y: float, radius: float, ink: Ink = Ink.LINE) -> Shape:
    return Shape((At(x, y),), ink, radius)


def arc(x: float, y: float, radius: float, start: float, stop: float, ink: Ink = Ink.LINE) -> Shape:
    """From `start` to `stop` degrees, clockwise on the page from the right."""
    steps = max(4, round(abs(stop - start) / 12))
    angles = [math.radians(start + (stop - start) * n / steps) for n in range(steps + 1)]
    return line(*((x + radius * math.cos(a), y + radius * math.sin(a)) for a in angles), ink=ink)


def coil(x: float, top: float, turns: int, side: int, pitch: float = 1.0) -> list[Shape]:
    """Half circles down from `top`, bulging to the right for side 1 and to the left for -1."""
    half = pitch / 2
    return [arc(x, top + half + n * pitch, half, -90, -90 + 180 * side) for n in range(turns)]


Turn = tuple[int, int, int, int]
TURNS: dict[str, Turn] = {  # of a symbol drawn to the right
    "right": (1, 0, 0, 1),
    "down": (0, -1, 1, 0),
    "left": (-1, 0, 0, -1),
    "up": (0, 1, -1, 0),
}
MIRROR: Turn = (-1, 0, 0, 1)


def turned(symbol: Symbol, turn: Turn) -> Symbol:
    """The strokes and ends turned about the origin. Its texts stay upright: they are turned by their middle."""
    a, b, c, d = turn

    def at(p: At) -> At:
        return At(a * p.x + b * p.y, c * p.x + d * p.y)

    corners = [
        at(At(x, y)) for x in (symbol.body.left, symbol.body.right) for y in (symbol.body.top, symbol.body.bottom)
    ]
    body = Box(
        min(p.x for p in corners), min(p.y for p in corners), max(p.x for p in corners), max(p.y for p in corners)
    )
    shapes = tuple(Shape(tuple(map(at, s.points)), s.ink, s.radius, s.closed) for s in symbol.shapes)
    flip = {"start": "end", "end": "start"} if turn == MIRROR else {}
    texts = tuple(Text(t.lettering, at(t.at), flip.get(t.anchor, t.anchor), t.is_strong, t.size) for t in symbol.texts)
    return Symbol(shapes, {name: at(p) for name, p in symbol.ends.items()}, body, texts)


def shifted(symbol: Symbol, x: float, y: float) -> Symbol:
    def at(p: At) -> At:
        return At(p.x + x, p.y + y)

    return Symbol(
        tuple(Shape(tuple(map(at, s.points)), s.ink, s.radius, s.closed) for s in symbol.shapes),
        {name: at(p) for name, p in symbol.ends.items()},
        symbol.body.moved(x, y),
        tuple(t.moved(x, y) for t in symbol.texts),
    )
