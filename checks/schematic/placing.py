"""Symbols placed as a schematic is read: signals from left to right, supplies above, the chassis below.

From each input (or the mains) a line is followed: what leads from it to the chassis hangs below, what leads to a supply
stands above, what carries the signal on comes next on the line; a second way on begins a row further down.
"""

from checks.circuit.netlist.transistors import MAIN
from checks.schematic.hanging_parts import HangingParts
from checks.schematic.model import At, Placed, Unit
from checks.schematic.nets import Nets, is_control, is_device
from checks.schematic.pairs import PairPlacing, find_partner, find_upper_valve
from checks.schematic.rings import Ring, list_rings
from checks.schematic.symbol_placing import SymbolPlacer, other_end, turn_along
from checks.schematic.symbols import MIRROR, draw_symbol, is_two_ended, turned
from checks.schematic.symbols.others import find_sides, transformer

HELD = ("cathode", "emitter", "source")
OUT = ("anode", "collector", "drain")
ABOVE = 3  # squares between the valves of a cascode
_UNDER = 3  # rows left under what is there, before a branch of parts; a stage needs room for its load as well
UNDER_STAGE = 12
_BESIDE_WINDING = 4  # the centre tap has its chassis sign there


class Placer:
    """One section's symbols. What cannot be reached along a line is put where there is room near its nets."""

    def __init__(self, units: list[Unit], nets: Nets, putter: SymbolPlacer):
        self.pending = {unit.key: unit for unit in units}
        self.nets, self.putter, self.board = nets, putter, putter.board
        self.done: dict[str, At] = {}  # net -> where its line begins
        self.hanging = HangingParts(self)
        self.failed: list[Unit] = []
        self.inputs: frozenset = frozenset()
        self.named: set[str] = set()  # nets to be named although one section has them all
        self.rings = list_rings(units, nets.secondary)
        self._ring_keys = {unit.key for ring in self.rings for unit in ring.diodes}

    def at(self, net: str) -> list[tuple[Unit, str]]:
        """The ends on a net that belong to symbols not placed yet."""
        return [(u, t) for u, t in self.nets.at.get(net, ()) if u.key in self.pending]

    def is_in_ring(self, unit: Unit) -> bool:
        return unit.key in self._ring_keys

    def put(self, unit: Unit, symbol, at: At, **how) -> Placed | None:
        placed = self.putter.put(unit, symbol, at, **how)
        self.pending.pop(unit.key, None)
        if not placed:
            self.failed.append(unit)
        return placed

    def start(self, unit: Unit) -> None:
        """Begin a new row with this symbol."""
        own = unit.nets - self.putter.flagged
        if is_two_ended(unit) and len(own) == 1 and len(self.at(*own)) > 1:
            self.begin(*own)
            return
        y = self.next_row(-1000, UNDER_STAGE) if self.board.placed else 0
        symbol = draw_symbol(unit)
        if unit.kind in ("battery", "dc supply"):
            placed = self.put(unit, turn_along(unit, "plus", "down"), At(0, y), beside="left")
        elif is_two_ended(unit) or unit.kind == "potentiometer":
            first = min(symbol.ends, key=lambda t: len(self.nets.at.get(unit.joins.get(t, ""), ())))
            placed = self.put(unit, turn_along(unit, first, "right"), At(0, y), beside="above")
        else:
            placed = self.put(unit, symbol, At(0, y), beside=_beside(unit))
        if placed:
            self.leave(placed)

    def begin(self, net: str) -> None:
        """Begin with the line of a net: a new row, or where no stage is near it, beside what is there."""
        x, y = 0.0, 0.0
        if self.board.placed and any(is_device(unit) for unit in self.pending.values()):
            y = self.next_row(-1000, UNDER_STAGE)
        elif self.board.placed:
            x = round(self.board.extent.right) + 4
        self.line(net, At(x, y))

    def leave(self, placed: Placed, base: float | None = None, entered: str = "") -> None:
        """Hang what belongs at each end of a symbol, then follow the ends onwards."""
        unit, todo = placed.unit, []
        for terminal in _order(unit, placed):
            net, at = unit.joins.get(terminal, ""), placed.ends[terminal]
            is_fed = "transformer" in unit.kind and net in self.nets.rails  # its line begins at the rectifier
            if not net or net in self.putter.flagged or net in self.done or net == entered or is_fed:
                continue
            self.done[net] = at
            if self._put_upon(net, unit, terminal, at):
                continue
            x = self.hanging.hang_all(net, at, is_side=terminal == "screen")
            if terminal == "screen":
                self.hanging.lead_aside(net, at, unit)
            todo.append((net, At(x, at.y)))
        for net, at in reversed(todo) if is_device(unit) else todo:  # the anode leads on first
            self.follow(net, at, at.y if base is None else base)

    def _put_upon(self, net: str, unit: Unit, terminal: str, at: At) -> bool:
        """The upper valve of a cascode, whose cathode is this anode: it stands above, and its own anode leads on."""
        if not is_device(unit) or terminal.rpartition(".")[2] not in OUT or net in self.nets.rails:
            return False
        upper = [(u, t) for u, t in self.at(net) if is_device(u) and t.rpartition(".")[2] in HELD]
        if len(upper) != 1 or upper[0][0].kind != unit.kind or not self._is_open_above(at):
            return False
        other, held = upper[0]
        symbol = draw_symbol(other)
        there = symbol.ends[held]
        placed = self.put(other, symbol, At(at.x - there.x, at.y - ABOVE - there.y), beside="right", step=At(0, -1))
        if placed:
            self.board.keep_lane(net, at, placed.ends[held])
            self.follow(net, at, at.y)
            self.leave(placed, entered=net)
        return placed is not None

    def _is_open_above(self, at: At) -> bool:
        """Is there nothing above or to the right, where a second valve and what it leads to would stand?"""
        return all(box.right < at.x - 10 or box.top > at.y - 3 for box in self.board.boxes)

    def line(self, net: str, at: At) -> None:
        """A net whose line arrives at `at`."""
        if net in self.done or net in self.putter.flagged or not net:
            return
        self.done[net] = at
        self.follow(net, At(self.hanging.hang_all(net, At(at.x + 1, at.y)), at.y), at.y)

    def follow(self, net: str, at: At, base: float) -> None:
        """What carries the net on, the likeliest way first."""
        x, is_first = at.x, True
        for unit, terminal in sorted(self.at(net), key=lambda end: _rank(*end)):
            if unit.key not in self.pending or self._is_for_later(net, unit, terminal):
                continue
            y = at.y if is_first else self.next_row(x, self._room(unit))
            far = _BESIDE_WINDING if net in self.nets.secondary else 2
            self._on(net, unit, terminal, At(x + far, y), base if is_first else y)
            is_first = False

    def _is_for_later(self, net: str, unit: Unit, terminal: str) -> bool:
        """Feedback to a cathode, a part whose other end is placed, the way back to another input or a driven stage."""
        if is_device(unit) and not is_control(unit, terminal):
            return net not in self.nets.rails or terminal != MAIN.get(unit.kind, ("",))[0]
        if not (is_two_ended(unit) or unit.kind == "potentiometer"):
            return False
        others = unit.nets - {net} - self.putter.flagged
        if others and all(other in self.done for other in others):
            return net not in self.nets.secondary
        if any(u.kind == "connector" and u.key in self.inputs for other in others for u, _t in self.at(other)):
            return True
        if any(is_device(u) and t == "screen" for other in others for u, t in self.at(other)):
            return True
        return unit.kind == "resistor" and self.is_held(net) and bool(others)

    def is_held(self, net: str) -> bool:
        """Is this the cathode, emitter or source of a stage whose output is elsewhere?"""
        for unit, terminal in self.nets.at.get(net, ()):
            if is_device(unit) and terminal.rpartition(".")[2] in HELD:
                start = terminal.rpartition(".")[0]
                out = {"cathode": "anode", "emitter": "collector", "source": "drain"}[terminal.rpartition(".")[2]]
                if unit.joins.get(f"{start}.{out}" if start else out, "") not in self.nets.rails:
                    return True
        return False

    def _on(self, net: str, unit: Unit, terminal: str, at: At, base: float) -> None:
        if ring := next((ring for ring in self.rings if unit in ring.diodes), None):
            self._ring(ring, at)
        elif is_two_ended(unit):
            self._series(net, unit, terminal, at, base)
        elif unit.kind == "potentiometer":
            self._tap(net, unit, terminal, at)
        else:
            self._symbol(net, unit, terminal, at)

    def _series(self, net: str, unit: Unit, terminal: str, at: At, base: float) -> None:
        placed = self.put(unit, turn_along(unit, terminal, "right"), at, beside="above")
        if not placed:
            return
        self.board.keep_lane(net, self.done.get(net, at), placed.ends[terminal])
        end = placed.ends[other_end(unit, terminal)]
        onward = unit.joins.get(other_end(unit, terminal), "")
        if onward and onward not in self.done and onward not in self.putter.flagged:
            if base != end.y:
                self.board.keep_lane(onward, end, At(end.x + 1, end.y))
                self.board.keep_lane(onward, At(end.x + 1, end.y), At(end.x + 1, base))
                end = At(end.x + 1, base)
            self.line(onward, end)

    def _ring(self, ring: Ring, at: At) -> None:
        placed = self.putter.put_ring(ring, At(at.x + 4, at.y))
        for unit in ring.diodes:
            self.pending.pop(unit.key, None)
        self.failed += [] if placed else ring.diodes
        for symbol in placed[1:3]:  # one of those at either end of the direct current
            self.leave(symbol)

    def _tap(self, net: str, unit: Unit, terminal: str, at: At) -> None:
        way = "down" if terminal != "bottom" else "up"
        symbol = turn_along(unit, "top" if terminal == "wiper" else terminal, way)
        there = symbol.ends[terminal]
        if placed := self.put(unit, symbol, At(at.x - there.x, at.y - there.y), beside="left"):
            self.board.keep_lane(net, self.done.get(net, at), placed.ends[terminal])
            self.leave(placed, entered=net)

    def _symbol(self, net: str, unit: Unit, terminal: str, at: At) -> None:
        if is_device(unit) and is_control(unit, terminal) and (mate := find_partner(self, unit)):
            PairPlacing(self, unit, mate).place(net, at)
            return
        if above := find_upper_valve(self, unit, terminal):
            self._below(net, unit, terminal, at, above)
            return
        symbol = self._facing(unit, terminal)
        there = symbol.ends[terminal]
        room = max(at.x, at.x - there.x - 4) if there.x <= 0 else at.x
        if placed := self.put(unit, symbol, At(room - there.x, at.y - there.y), beside=_beside(unit)):
            if placed.ends[terminal].y == at.y:
                self.board.keep_lane(net, self.done.get(net, at), placed.ends[terminal])
            self.leave(placed, entered=net)

    def _below(self, net: str, unit: Unit, terminal: str, at: At, above: Placed) -> None:
        """The second valve of a push-pull stage under the first."""
        symbol, column = draw_symbol(unit), At(above.body.left, above.body.right)
        low = max(box.bottom for box in self.board.boxes if box.left < column.y + 1 and box.right > column.x - 1)
        y = max(at.y - symbol.ends[terminal].y, round(low) + UNDER_STAGE - 4)
        x = round((above.body.left + above.body.right) / 2 - (symbol.body.left + symbol.body.right) / 2)
        if placed := self.put(unit, symbol, At(x, y), beside=_beside(unit), step=At(0, 1)):
            self.leave(placed, entered=net)

    def _facing(self, unit: Unit, terminal: str):
        """The symbol so that the end it is entered by faces the line it comes from."""
        if unit.kind == "output transformer" and self._is_upside_down(unit, terminal):
            return transformer(unit, turned_over=True)
        symbol = draw_symbol(unit)
        faces_back = symbol.ends[terminal].x >= 0 and (unit.kind in ("connector",) or is_device(unit))
        return turned(symbol, MIRROR) if faces_back and not is_control(unit, terminal) else symbol

    def _is_upside_down(self, unit: Unit, terminal: str) -> bool:
        """A supply belongs above the anode that it feeds; of two anodes the one come from is the upper."""
        ends = [t for _name, terminals, _words in find_sides(unit)[0] for t in terminals]
        if len(ends) == 2 and unit.joins.get(ends[terminal == ends[0]], "") in self.putter.flagged:
            return terminal == ends[0]
        return terminal == ends[-1]

    def next_row(self, x: float, under: float) -> float:
        low = max((box.bottom for box in self.board.boxes if box.right > x), default=0)
        return round(low + under)

    def _room(self, unit: Unit) -> float:
        seen, todo = set(), [unit]
        while todo:
            one = todo.pop()
            if is_device(one):
                return UNDER_STAGE
            seen.add(one.key)
            nets = one.nets - self.putter.flagged - set(self.done)
            todo += [u for net in nets for u, _t in self.at(net) if u.key not in seen]
        return _UNDER

    def finish(self) -> None:
        """What is left: parts between lines that are there, then rows of their own."""
        while self.pending:
            joined = [u for u in self.pending.values() if u.nets & set(self.done)]
            unit = min(joined, key=self._is_last, default=None)
            if unit is None:
                self.start(min(self.pending.values(), key=_start_rank))
            elif self._is_last(unit)[0]:
                self._between(unit)
            else:
                self._resume(unit)

    def _is_last(self, unit: Unit) -> tuple:
        """Parts that lead on from a line come first, then stages, then what has all its lines already."""
        waits = unit.nets - self.putter.flagged - set(self.done)
        return not waits, not is_two_ended(unit)

    def _resume(self, unit: Unit) -> None:
        """Go on from a line that is there."""
        net = min(unit.nets & set(self.done))
        at, terminal = self.done[net], unit.terminals_on(net)[0]
        y = self.next_row(at.x, self._room(unit))
        self._on(net, unit, terminal, At(at.x + 2, y), y)

    def _between(self, unit: Unit) -> None:
        """In the middle of the nets it joins, or below it where there is room."""
        places = [self.done[net] for net in sorted(unit.nets & set(self.done))]
        x = round(sum(p.x for p in places) / len(places))
        y = round(max(p.y for p in places)) + 6
        if is_two_ended(unit) or unit.kind == "potentiometer":
            first = min(draw_symbol(unit).ends, key=lambda t: self.done.get(unit.joins.get(t, ""), At(x, y)).x)
            first = first if first != "wiper" else "top"
            symbol, beside = turn_along(unit, first, "right"), "above"
        else:
            symbol, beside = draw_symbol(unit), _beside(unit)
        placed = self.put(unit, symbol, At(x - 2, y), beside=beside, step=At(0, 1))
        if placed:
            self.leave(placed)


def _order(unit: Unit, placed: Placed) -> list[str]:
    """A stage's cathode is dressed first, its anode last: from there the line goes on."""
    rank = {
        "cathode": 0,
        "source": 0,
        "emitter": 0,
        "screen": 1,
        "suppressor": 1,
        "anode": 2,
        "drain": 2,
        "collector": 2,
    }
    if is_device(unit):
        return sorted(placed.ends, key=lambda t: rank.get(t.rpartition(".")[2], 1))
    return list(placed.ends)


def _beside(unit: Unit) -> str:
    if unit.kind in ("triode", "twin triode", "pentode", "op-amp", "bridge") or unit.kind.endswith(
        ("mosfet", "transistor")
    ):
        return "corner"
    return "above" if unit.kind != "potentiometer" else "left"


def _rank(unit: Unit, terminal: str) -> int:
    if is_control(unit, terminal):
        return 0
    if "transformer" in unit.kind:
        return 1
    if unit.kind == "potentiometer":
        return 2
    kinds = {"capacitor": 3, "electrolytic": 3, "connector": 6}
    return kinds.get(unit.kind, 5 if is_device(unit) else 4)


def _start_rank(unit: Unit) -> tuple:
    return (unit.kind != "connector", is_two_ended(unit), unit.ref)
