"""Putting one symbol on the board with its label and the flags at its ends, where all of it has room."""

from dataclasses import dataclass

from checks.schematic.board import Board, label, list_boxes, list_ends, place_symbol
from checks.schematic.flags import DIRECTIONS, find_direction, flag
from checks.schematic.model import CHASSIS, At, Box, Flag, Placed, Text, Unit
from checks.schematic.rings import AC1, MINUS, Ring, corner_label, slanting_diode
from checks.schematic.symbols import TURNS, Symbol, draw_symbol, ends_in_order, is_two_ended, turned
from checks.schematic.symbols.strokes import shifted

OTHER_SIDE = {"above": ("below",), "right": ("left",), "left": ("right",), "corner": ("low left", "above")}
ONWARDS = At(1, 0)
FAR = 400  # squares a symbol is moved on at most


@dataclass
class SymbolPlacer:
    """Puts symbols of one section. `flagged`: nets that are named at every end; `negative`: those drawn downwards."""

    board: Board
    flagged: set[str]
    negative: set[str]
    earths: set[str]  # references of connectors whose chassis is the protective earth

    def put(self, unit: Unit, symbol: Symbol, at: At, *, beside: str, step: At = ONWARDS) -> Placed | None:
        """The symbol with its origin at `at`, or the first place onwards by `step` that has room."""
        labels = [label(unit, symbol, beside=side) for side in (beside, *OTHER_SIDE.get(beside, ()))]
        for n in range(FAR):
            for texts in labels:
                x, y = at.x + n * step.x, at.y + n * step.y
                if placed := self._try(unit, symbol, texts, x, y):
                    return placed
        return None

    def _try(self, unit: Unit, symbol: Symbol, texts: tuple[Text, ...], x: float, y: float) -> Placed | None:
        ends = list_ends(unit, symbol, x, y)
        boxes = [box.moved(x, y) for box in list_boxes(symbol, texts)]
        flags = self._flags(unit, shifted(symbol, x, y))
        if _clash(flags, boxes):
            return None
        whole = [*boxes, *(_open(one) for one in flags)]
        ways = self._ways_out(unit, shifted(symbol, x, y))
        lettering = [text.box.moved(x, y).grown(0.2) for text in texts]
        if any(_lane(*way).overlaps(box) for box in lettering for _net, *way in ways):
            return None
        if not self.board.is_free(whole, ends):
            return None
        self.board.take([*boxes, *(one.box for one in flags)], ends)
        for net, *way in ways:
            self.board.keep_lane(net, *way)
        self.board.flags += flags
        placed = place_symbol(unit, symbol, texts, x, y)
        self.board.placed.append(placed)
        return placed

    def put_ring(self, ring: Ring, at: At) -> list[Placed]:
        """A bridge of four diodes, its first alternating end at `at`, or where there is room to the right of it."""
        pieces = [
            (unit, slanting_diode(one, other), corner_label(unit, one, other)) for unit, one, other in ring.places
        ]
        minus = ring.diodes[2].joins["anode"]
        for n in range(FAR):
            x, y = at.x + n, at.y - AC1.y
            flags = [flag(minus, At(x + MINUS.x, y), "left")] if minus in self.flagged else []
            ends = {k: v for unit, symbol, _t in pieces for k, v in list_ends(unit, symbol, x, y).items()}
            boxes = [box.moved(x, y) for _u, symbol, texts in pieces for box in list_boxes(symbol, texts)]
            if self.board.is_free([*boxes, *(one.box for one in flags)], ends):
                self.board.take([*boxes, *(one.box for one in flags)], ends)
                self.board.flags += flags
                diodes = [place_symbol(unit, symbol, texts, x, y) for unit, symbol, texts in pieces]
                self.board.placed += diodes
                return diodes
        return []

    def _flags(self, unit: Unit, symbol: Symbol) -> list[Flag]:
        flags, seen = [], set()
        for name, at in symbol.ends.items():
            net = unit.joins.get(name)
            if net and net in self.flagged and at not in seen:
                seen.add(at)
                direction = self._direction(unit, net, at, symbol)
                flags.append(flag(net, at, direction, is_earth=net == CHASSIS and unit.ref in self.earths))
        return flags

    def _ways_out(self, unit: Unit, symbol: Symbol) -> list[tuple[str, At, At]]:
        """(net, end, the point beyond it) of each end that a wire will leave by."""
        ways = []
        for name, at in symbol.ends.items():
            net = unit.joins.get(name)
            if net and net not in self.flagged:
                step = DIRECTIONS[find_direction(at, symbol.body)]
                ways.append((net, at, At(at.x + step.x, at.y + step.y)))
        return ways

    def _direction(self, unit: Unit, net: str, at: At, symbol: Symbol) -> str:
        """As the end leaves its symbol; a supply at the top of a transformer is named above it."""
        is_top = all(at.y <= end.y for end in symbol.ends.values())
        if unit.kind == "output transformer" and is_top and net not in (CHASSIS, *self.negative):
            return "up"
        return find_direction(at, symbol.body)


def _lane(start: At, stop: At) -> Box:
    left, right = sorted((start.x, stop.x))
    top, bottom = sorted((start.y, stop.y))
    return Box(left - 0.3, top - 0.3, right + 0.3, bottom + 0.3)


def _open(one: Flag) -> Box:
    """A flag's box without the edge on which its net's end lies."""
    return Box(one.box.left, one.box.top, one.box.right, one.box.bottom)


def _clash(flags: list[Flag], boxes: list[Box]) -> bool:
    """Do flags of one symbol lie on each other, or on its label?"""
    every = [*boxes, *(one.box for one in flags)]
    first = len(boxes)
    return any(
        every[n].grown(-0.02).overlaps(every[k].grown(-0.02)) for n in range(first, len(every)) for k in range(n)
    )


def turn_along(unit: Unit, terminal: str, direction: str) -> Symbol:
    """A part with two ends (or a potentiometer), its `terminal` at the origin and the other end in `direction`."""
    first, second = ("top", "bottom") if unit.kind == "potentiometer" else ends_in_order(unit)
    opposite = {"right": "left", "left": "right", "up": "down", "down": "up"}
    if terminal == first:
        return turned(draw_symbol(unit), TURNS[direction])
    made = turned(draw_symbol(unit), TURNS[opposite[direction]])
    return shifted(made, -made.ends[second].x, -made.ends[second].y)


def other_end(unit: Unit, terminal: str) -> str:
    first, second = ("top", "bottom") if unit.kind == "potentiometer" else ends_in_order(unit)
    return second if terminal == first else first


__all__ = ["SymbolPlacer", "turn_along", "is_two_ended", "other_end"]
