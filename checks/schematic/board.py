"""The board that symbols are put on: what is taken already, and where there is room for more."""

from checks.schematic.model import At, Box, Flag, Placed, Text, Unit
from checks.schematic.symbols import Symbol, shifted

GAP = 0.9  # between things that do not belong together: a wire fits between them


class Board:
    """Boxes that are taken, each with the nets it may be touched by, and the ends that wires start at."""

    def __init__(self, gap: float = GAP):
        self.gap = gap
        self.placed: list[Placed] = []
        self.flags: list[Flag] = []
        self.boxes: list[Box] = []
        self.lanes: list[tuple[Box, str]] = []  # kept free for a wire of that net
        self.ends: dict[tuple[float, float], str] = {}

    def is_free(self, boxes: list[Box], ends: dict[tuple[float, float], str]) -> bool:
        nets = set(ends.values())
        for box in boxes:
            near = box.grown(self.gap)
            if any(near.overlaps(other) for other in self.boxes):
                return False
            if any(box.overlaps(lane) for lane, net in self.lanes if net not in nets):
                return False
            if any(_touches(box.grown(0.5), at) for at, net in self.ends.items() if net not in nets):
                return False
        for at, net in ends.items():
            if self.ends.get(at, net) != net or any(_touches(box.grown(0.4), at) for box in self.boxes):
                return False
            if any(_touches(lane, at) for lane, other in self.lanes if other != net):
                return False
        return True

    def copy(self) -> "Board":
        made = Board(self.gap)
        made.placed, made.flags, made.boxes = [*self.placed], [*self.flags], [*self.boxes]
        made.lanes, made.ends = [*self.lanes], dict(self.ends)
        return made

    def take(self, boxes: list[Box], ends: dict[tuple[float, float], str]) -> None:
        self.boxes += boxes
        self.ends |= ends

    def keep_lane(self, net: str, start: At, stop: At) -> None:
        left, right = sorted((start.x, stop.x))
        top, bottom = sorted((start.y, stop.y))
        if right - left + bottom - top > 0:
            self.lanes.append((Box(left - 0.3, top - 0.3, right + 0.3, bottom + 0.3), net))

    @property
    def extent(self) -> Box:
        every = [*self.boxes, *(Box(x, y, x, y) for x, y in self.ends)] or [Box(0, 0, 0, 0)]
        return Box(
            min(b.left for b in every),
            min(b.top for b in every),
            max(b.right for b in every),
            max(b.bottom for b in every),
        )


def _touches(box: Box, at: tuple[float, float]) -> bool:
    return box.left < at[0] < box.right and box.top < at[1] < box.bottom


def label(unit: Unit, symbol: Symbol, *, beside: str) -> tuple[Text, ...]:
    """The reference and up to two captions: right of the symbol, above it, or below it on the right."""
    lines = [unit.label, *unit.captions][:3]
    body = symbol.body
    if beside == "right":
        x, y, anchor = body.right + 0.3, (body.top + body.bottom) / 2 - (len(lines) - 1) / 2, "start"
    elif beside == "left":
        x, y, anchor = body.left - 0.3, (body.top + body.bottom) / 2 - (len(lines) - 1) / 2, "end"
    elif beside == "above":
        x, y, anchor = (body.left + body.right) / 2, body.top - 0.7 - (len(lines) - 1), "middle"
    elif beside == "below":
        x, y, anchor = (body.left + body.right) / 2, body.bottom + 0.7, "middle"
    elif beside == "low left":
        x, y, anchor = body.left - 0.15, body.bottom - len(lines) + 0.5, "end"
    else:
        x, y, anchor = body.right + 0.15, body.bottom - len(lines) + 0.5, "start"
    return tuple(Text(line, At(x, y + n), anchor, is_strong=n == 0) for n, line in enumerate(lines))


def list_boxes(symbol: Symbol, texts: tuple[Text, ...]) -> list[Box]:
    return [symbol.body, *(text.box for text in texts)]


def place_symbol(unit: Unit, symbol: Symbol, texts: tuple[Text, ...], x: float, y: float) -> Placed:
    there = shifted(symbol, x, y)
    return Placed(unit, there.shapes, (*there.texts, *(t.moved(x, y) for t in texts)), there.body, there.ends)


def list_ends(unit: Unit, symbol: Symbol, x: float, y: float) -> dict[tuple[float, float], str]:
    """Where wires begin -> the net there; an end that joins nothing has a net of its own."""
    return {(at.x + x, at.y + y): unit.joins.get(name) or f"\0{unit.ref}.{name}" for name, at in symbol.ends.items()}
