"""Where on a schematic a point of the circuit is, and where a word about it has room."""

import math
from dataclasses import dataclass

from checks.schematic.model import At, Box, Schematic, Section

_WIRE_WIDE = 0.25
_NEAR, _FAR, _STEP = 0.9, 14.0, 0.7
_DIRECTIONS = 16
_CLEAR = 0.12


def find_anchor(schematic: Schematic, point: str) -> tuple[int, At] | None:
    """(number of the section, place) of a net, or of a pin such as V2.7; None for one that is not drawn."""
    ref, _dot, pin = point.partition(".")
    for n, section in enumerate(schematic.sections):
        for symbol in section.symbols:
            if symbol.unit.ref == ref:
                ends = [at for t, at in symbol.ends.items() if symbol.unit.pins.get(t) == pin]
                if ends:
                    return n, ends[0]
    places = [(rank, n, at) for n, section in enumerate(schematic.sections) for rank, at in _places(section, point)]
    return min(places)[1:] if places else None


def _places(section: Section, net: str):
    """The places of a net, the plainest to see first: a junction, a wire's middle, a flag, an end."""
    wires = [wire for wire in section.wires if wire.net == net]
    ends = {p for wire in wires for p in (wire.start, wire.stop)}
    yield from ((0, at) for at in section.dots if at in ends)
    yield from ((1, At((w.start.x + w.stop.x) / 2, (w.start.y + w.stop.y) / 2)) for w in wires)
    yield from ((2, flag.at) for flag in section.flags if flag.net == net)
    yield from ((3, at) for s in section.symbols for t, at in s.ends.items() if s.unit.joins.get(t) == net)


def taken(section: Section) -> list[Box]:
    """What of a section no further word may cover: symbols, words, flags and wires."""
    boxes = [symbol.body for symbol in section.symbols]
    boxes += [text.box for symbol in section.symbols for text in symbol.texts]
    boxes += [flag.box for flag in section.flags]
    for wire in section.wires:
        (left, right), (top, bottom) = sorted((wire.start.x, wire.stop.x)), sorted((wire.start.y, wire.stop.y))
        boxes.append(Box(left, top, right, bottom).grown(_WIRE_WIDE / 2))
    return boxes


@dataclass(frozen=True)
class Spot:
    """Room for a word about the point at `at`; the line from the point ends at `foot`."""

    at: At
    box: Box
    foot: At


def find_room(points: list[tuple[At, float, float]], obstacles: list[Box], limits: Box) -> list[Spot]:
    """A box of (width, height) for each point, the nearest that covers nothing; else the one that covers least."""
    spots: list[Spot] = []
    blocked = [box.grown(_CLEAR) for box in obstacles]
    marks = [Box(at.x, at.y, at.x, at.y).grown(0.5) for at, _w, _h in points]
    for n, (at, wide, high) in enumerate(points):
        others = [*blocked, *(spot.box.grown(_CLEAR) for spot in spots), *marks[:n], *marks[n + 1 :]]
        spots.append(_spot(at, wide, high, others, limits))
    return spots


def _spot(at: At, wide: float, high: float, blocked: list[Box], limits: Box) -> Spot:
    best, least = None, math.inf
    far = _NEAR
    while far <= _FAR:
        for box in _round(at, wide, high, far):
            outside = not (
                limits.left <= box.left
                and box.right <= limits.right
                and limits.top <= box.top
                and box.bottom <= limits.bottom
            )
            if outside:
                continue
            covered = sum(_area(box, other) for other in blocked)
            if covered < least:
                best, least = box, covered
            if covered == 0:
                return Spot(at, box, _foot(at, box))
        far += _STEP
    box = best or Box(at.x, at.y, at.x + wide, at.y + high)
    return Spot(at, box, _foot(at, box))


def _round(at: At, wide: float, high: float, far: float):
    """Boxes whose nearest edge is `far` from the point, upper right first."""
    for n in range(_DIRECTIONS):
        angle = math.radians(-45 + 360 * n / _DIRECTIONS)
        x, y = at.x + far * math.cos(angle), at.y + far * math.sin(angle)
        left = x - wide * (0.5 - 0.5 * math.cos(angle))
        top = y - high * (0.5 - 0.5 * math.sin(angle))
        yield Box(left, top, left + wide, top + high)


def _area(box: Box, other: Box) -> float:
    wide = min(box.right, other.right) - max(box.left, other.left)
    high = min(box.bottom, other.bottom) - max(box.top, other.top)
    return max(wide, 0) * max(high, 0)


def _foot(at: At, box: Box) -> At:
    """The place of the box's edge that is nearest to the point."""
    return At(min(max(at.x, box.left), box.right), min(max(at.y, box.top), box.bottom))
