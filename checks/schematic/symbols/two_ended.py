"""Symbols with two ends, four squares from the first to the second, drawn to the right (IEC 60617 parts 4, 5, 6, 7).

From memory, in the forms that text books print.
"""

from collections.abc import Callable

from checks.schematic.model import At, Box, Ink, Shape
from checks.schematic.symbols.strokes import Symbol, arc, box, circle, line

LONG = 4
Strokes = Callable[[], list[Shape]]


def _leads(start: float, stop: float) -> list[Shape]:
    return [line((0, 0), (start, 0)), line((stop, 0), (LONG, 0))]


def _resistor() -> list[Shape]:
    return [*_leads(0.9, 3.1), box(0.9, -0.4, 3.1, 0.4)]


def _capacitor() -> list[Shape]:
    return [*_leads(1.8, 2.2), line((1.8, -0.9), (1.8, 0.9)), line((2.2, -0.9), (2.2, 0.9))]


def _electrolytic() -> list[Shape]:
    return [*_capacitor(), line((0.9, 0.65), (1.5, 0.65)), line((1.2, 0.35), (1.2, 0.95))]


def _choke() -> list[Shape]:
    turns = [arc(1 + 0.25 + n * 0.5, 0, 0.25, 180, 360) for n in range(4)]
    return [*_leads(1, 3), *turns, line((1, -0.55), (3, -0.55))]


def _diode() -> list[Shape]:
    triangle = line((1.5, -0.6), (2.5, 0), (1.5, 0.6), ink=Ink.PAPER, closed=True)
    return [line((0, 0), (LONG, 0)), triangle, line((2.5, -0.6), (2.5, 0.6))]


def _led() -> list[Shape]:
    arrows = []
    for x in (1.6, 2.2):
        arrows += [line((x, -0.7), (x + 0.5, -1.3)), line((x + 0.2, -1.25), (x + 0.5, -1.3), (x + 0.47, -1.0))]
    return [*_diode(), *arrows]


def _zener() -> list[Shape]:
    return [*_diode(), line((2.5, -0.6), (2.2, -0.6))]


def _fuse() -> list[Shape]:
    return [box(0.9, -0.4, 3.1, 0.4), line((0, 0), (LONG, 0))]


def _lamp() -> list[Shape]:
    d = 0.57
    return [*_leads(1.2, 2.8), circle(2, 0, 0.8), line((2 - d, -d), (2 + d, d)), line((2 - d, d), (2 + d, -d))]


def _neon() -> list[Shape]:
    plates = [line((1.8, -0.4), (1.8, 0.4)), line((2.2, -0.4), (2.2, 0.4))]
    return [*_leads(1.8, 2.2), circle(2, 0, 0.9), *plates, circle(2, 0.62, 0.1, Ink.FILLED)]


def _thermistor() -> list[Shape]:
    return [*_resistor(), line((0.9, 0.85), (1.3, 0.85), (3.0, -0.85))]


def _switch() -> list[Shape]:
    return [*_leads(1, 3), circle(1, 0, 0.14, Ink.FILLED), circle(3, 0, 0.14, Ink.FILLED), line((1, 0), (2.9, -0.8))]


def _link() -> list[Shape]:
    return [line((0, 0), (LONG, 0)), circle(0.5, 0, 0.2, Ink.PAPER), circle(3.5, 0, 0.2, Ink.PAPER)]


def _battery() -> list[Shape]:
    plus = [line((1.0, -0.6), (1.5, -0.6)), line((1.25, -0.85), (1.25, -0.35))]
    return [*_leads(1.8, 2.2), line((1.8, -0.9), (1.8, 0.9)), line((2.2, -0.45), (2.2, 0.45)), *plus]


def _dc_supply() -> list[Shape]:
    plus = [line((0.6, -0.6), (1.1, -0.6)), line((0.85, -0.85), (0.85, -0.35))]
    return [line((0, 0), (LONG, 0)), circle(2, 0, 0.8), *plus]


STROKES: dict[str, tuple[tuple[str, str], Strokes]] = {
    "resistor": (("a", "b"), _resistor),
    "capacitor": (("a", "b"), _capacitor),
    "electrolytic": (("plus", "minus"), _electrolytic),
    "inductor": (("a", "b"), _choke),
    "diode": (("anode", "cathode"), _diode),
    "led": (("anode", "cathode"), _led),
    "zener": (("anode", "cathode"), _zener),
    "fuse": (("a", "b"), _fuse),
    "lamp": (("a", "b"), _lamp),
    "neon": (("a", "b"), _neon),
    "thermistor": (("a", "b"), _thermistor),
    "switch": (("a", "b"), _switch),
    "link": (("a", "b"), _link),
    "battery": (("plus", "minus"), _battery),
    "dc supply": (("plus", "minus"), _dc_supply),
}


def two_ended(kind: str) -> Symbol:
    (first, second), strokes = STROKES[kind]
    high = 1.4 if kind == "led" else 0.9
    return Symbol(tuple(strokes()), {first: At(0, 0), second: At(LONG, 0)}, Box(0.6, -high, LONG - 0.6, 0.9))


def potentiometer() -> Symbol:
    """Drawn to the right: from the top of the track to its bottom, the wiper above."""
    arrow = [line((2, -2), (2, -0.45)), line((1.75, -0.85), (2, -0.45), (2.25, -0.85))]
    ends = {"top": At(0, 0), "bottom": At(LONG, 0), "wiper": At(2, -2)}
    return Symbol((*_resistor(), *arrow), ends, Box(0.6, -1.5, LONG - 0.6, 0.9))
