"""Flags: the name of a net at one of its ends, and the signs of chassis and earth (IEC 60617 part 2)."""

from checks.schematic.model import CHASSIS, At, Box, Flag, Text
from checks.schematic.symbols.strokes import line

DIRECTIONS = {"left": At(-1, 0), "right": At(1, 0), "up": At(0, -1), "down": At(0, 1)}
_SIZE = 0.85


def find_direction(at: At, body: Box) -> str:
    """The way in which an end leaves its symbol."""
    for name, is_so in (
        ("left", at.x <= body.left),
        ("right", at.x >= body.right),
        ("up", at.y <= body.top),
        ("down", at.y >= body.bottom),
    ):
        if is_so:
            return name
    return "right"


def flag(net: str, at: At, direction: str, *, is_earth: bool = False) -> Flag:
    if net == CHASSIS:
        return _chassis(at, direction, is_earth)
    if direction in ("up", "down"):
        return _bar(net, at, -1 if direction == "up" else 1)
    return _pennant(net, at, 1 if direction == "right" else -1)


def _chassis(at: At, direction: str, is_earth: bool) -> Flag:
    """Hanging down, also at the end of a short wire to the side."""
    x, y = at.x + DIRECTIONS[direction].x, at.y
    lead = [line(at, (x, y), (x, y + 0.7))]
    if is_earth:
        strokes = [
            line((x - w, y + 0.7 + n * 0.35), (x + w, y + 0.7 + n * 0.35)) for n, w in enumerate((0.9, 0.55, 0.2))
        ]
    else:
        strokes = [line((x - 0.9, y + 0.7), (x + 0.9, y + 0.7))]
        strokes += [line((x + d, y + 0.7), (x + d - 0.45, y + 1.35)) for d in (-0.45, 0.2, 0.85)]
    left = min(at.x, x - 0.9) if direction != "right" else at.x
    right = max(at.x, x + 0.9) if direction != "left" else at.x
    if direction in ("up", "down"):
        left, right = x - 0.9, x + 0.9
    return Flag(CHASSIS, at, (*lead, *strokes), (), Box(min(left, x - 0.9), y, max(right, x + 0.9), y + 1.4))


def _bar(net: str, at: At, side: int) -> Flag:
    text = Text(net, At(at.x, at.y + side * 1.25), "middle", size=_SIZE)
    strokes = (
        line(at, (at.x, at.y + side * 0.6)),
        line((at.x - 0.8, at.y + side * 0.6), (at.x + 0.8, at.y + side * 0.6)),
    )
    left, right = min(text.box.left, at.x - 0.8), max(text.box.right, at.x + 0.8)
    top, bottom = sorted((at.y + side * 0.55, at.y + side * 1.75))
    return Flag(net, at, strokes, (text,), Box(left, top, right, bottom))


def _pennant(net: str, at: At, side: int) -> Flag:
    text = Text(net, At(at.x + side * 0.9, at.y), "start" if side > 0 else "end", size=_SIZE)
    far = (text.box.right if side > 0 else text.box.left) + side * 0.25
    near, corner = at.x + side * 0.3, at.x + side * 0.7
    outline = line(
        (near, at.y), (corner, at.y - 0.6), (far, at.y - 0.6), (far, at.y + 0.6), (corner, at.y + 0.6),
        closed=True,
    )  # fmt: skip
    left, right = sorted((at.x, far))
    return Flag(net, at, (line(at, (near, at.y)), outline), (text,), Box(left, at.y - 0.6, right, at.y + 0.6))
