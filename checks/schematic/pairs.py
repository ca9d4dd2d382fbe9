"""Two valves with one cathode line, drawn as a long-tailed pair is known: side by side, facing each other, their
tail between them below, their loads above, and grid leaks that lead to the tail standing beside it."""

from checks.schematic.model import At, Placed, Unit
from checks.schematic.nets import is_control, is_device
from checks.schematic.symbol_placing import is_two_ended, other_end, turn_along
from checks.schematic.symbols import MIRROR, draw_symbol, turned

OUT_OF = {"cathode": "anode", "emitter": "collector", "source": "drain"}
_APART = 12  # squares between the two, for their words and the tail
_TALL = 6  # the left one's output runs this much above the right one's: a coupling part and its words lie between
_UNDER = 12  # rows to the next stage, as between any two
_LEAK = 6  # squares kept before the left one for its leak


def end_named(unit: Unit, name: str) -> str:
    """The terminal of that electrode, with its section before it; "" where there is none."""
    return next((t for t in unit.joins if t.rpartition(".")[2] == name), "")


def _held(unit: Unit) -> str:
    return next((end_named(unit, name) for name in OUT_OF if end_named(unit, name)), "")


def _out(unit: Unit) -> str:
    return end_named(unit, OUT_OF[_held(unit).rpartition(".")[2]]) if _held(unit) else ""


def _control(unit: Unit) -> str:
    return next((t for t in unit.joins if is_control(unit, t)), "")


def find_partner(placer, unit: Unit) -> Unit | None:
    """The other one of a pair, while neither is placed. Two output valves at one transformer are none."""
    held = _held(unit)
    net = unit.joins.get(held, "")
    if not net or net in placer.putter.flagged or draw_symbol(unit).ends[held].y < 0:
        return None
    others = [
        u
        for u, t in placer.nets.at[net]
        if is_device(u) and not is_control(u, t) and u.key != unit.key and t == _held(u)
    ]
    if len(others) != 1 or others[0].kind != unit.kind or others[0].key not in placer.pending:
        return None
    mate = others[0]
    outs = [one.joins.get(_out(one), "") for one in (unit, mate)]
    controls = [one.joins.get(_control(one), "") for one in (unit, mate)]
    feeds_one_transformer = any("transformer" in u.kind for out in outs for u, _t in placer.nets.at.get(out, ()))
    return None if feeds_one_transformer or outs[0] == outs[1] or controls[0] == controls[1] else mate


def find_upper_valve(placer, unit: Unit, terminal: str) -> Placed | None:
    """The first valve of a push-pull stage, where this is the second, entered by its grid."""
    if not (is_device(unit) and is_control(unit, terminal)) or not _out(unit):
        return None
    fed = {u.key for u, _t in placer.nets.at.get(unit.joins.get(_out(unit), ""), ()) if u.kind == "output transformer"}
    for placed in placer.board.placed:
        out = placed.unit.joins.get(_out(placed.unit), "") if is_device(placed.unit) and _out(placed.unit) else ""
        if placed.unit.kind == unit.kind and fed & {u.key for u, _t in placer.nets.at.get(out, ())}:
            return placed
    return None


class PairPlacing:
    """Puts a pair that a line arrives at, by the grid of the left one."""

    def __init__(self, placer, unit: Unit, mate: Unit):
        self.placer, self.unit, self.mate = placer, unit, mate
        self.tail = unit.joins[_held(unit)]
        self.leaks = {
            net: [(u, t) for u, t in placer.at(net) if self._is_leak(net, u, t)]
            for net in (unit.joins.get(_control(unit), ""), mate.joins.get(_control(mate), ""))
            if net and net not in placer.putter.flagged
        }

    def _is_leak(self, net: str, unit: Unit, terminal: str) -> bool:
        """Does a part lead from a grid to the cathodes, or to the foot of their bias resistor?"""
        if not is_two_ended(unit):
            return False
        foot = unit.joins.get(other_end(unit, terminal), "")
        near = {n for u, _t in self.placer.nets.at[self.tail] if is_two_ended(u) for n in u.nets}
        return foot in near - self.placer.putter.flagged - {net}

    def place(self, net: str, at: At) -> None:
        placer, control = self.placer, _control(self.unit)
        start = At(at.x, at.y)
        symbol = draw_symbol(self.unit)
        there = symbol.ends[control]
        x = at.x - there.x + (_LEAK if self.leaks.get(net) else 0)
        left = placer.put(self.unit, symbol, At(x, at.y - there.y), beside="corner")
        if not left:
            return
        placer.board.keep_lane(net, placer.done.get(net, at), left.ends[control])
        facing = turned(draw_symbol(self.mate), MIRROR)
        far = At(left.ends[_held(self.unit)].x + _APART, at.y - there.y)
        right = placer.put(self.mate, facing, far, beside="corner")
        if not right:
            return
        self._hang_tail(left, right)
        self._stand_leaks(net, start)
        todo = [*self._dress_right_grid(right), *self._dress_outputs(left, right)]
        for placed in (left, right):
            placer.leave(placed, entered=net)  # the other electrodes
        for onward, end, is_lower in todo:
            base = placer.next_row(end.x, _UNDER) if is_lower else end.y
            placer.follow(onward, end, base)

    def _hang_tail(self, left: Placed, right: Placed) -> None:
        placer, net = self.placer, self.tail
        one, other = left.ends[_held(self.unit)], right.ends[_held(self.mate)]
        middle = At(round((one.x + other.x) / 2), one.y + 1)
        placer.done[net] = middle
        for end in (one, other):
            placer.board.keep_lane(net, end, At(end.x, middle.y))
            placer.board.keep_lane(net, At(end.x, middle.y), middle)
        placer.hanging.hang_all(net, middle)

    def _stand_leaks(self, net: str, at: At) -> None:
        for unit, terminal in self.leaks.get(net, ()):
            if unit.key in self.placer.pending:
                self._stand(unit, terminal, net, At(at.x + 1, at.y), "right")

    def _stand(self, unit: Unit, terminal: str, net: str, at: At, beside: str) -> At:
        placed = self.placer.put(unit, turn_along(unit, terminal, "down"), at, beside=beside)
        if placed:
            self.placer.board.keep_lane(net, at, placed.ends[terminal])
        return placed.ends[terminal] if placed else at

    def _dress_right_grid(self, right: Placed):
        placer, control = self.placer, _control(self.mate)
        net = self.mate.joins.get(control, "")
        if not net or net in placer.putter.flagged or net in placer.done:
            return
        at = right.ends[control]
        placer.done[net] = at
        for unit, terminal in self.leaks.get(net, ()):
            if unit.key in placer.pending:
                at = self._stand(unit, terminal, net, At(at.x + 1, at.y), "right")
        yield net, At(placer.hanging.hang_all(net, At(at.x + 1, at.y)), at.y), False

    def _dress_outputs(self, left: Placed, right: Placed):
        """Each load above its anode; the left one's line passes over the right one, that one's leads on below."""
        placer = self.placer
        outs = [(self.unit, left), (self.mate, right)]
        lines = [(one.joins.get(_out(one), ""), placed.ends[_out(one)]) for one, placed in outs]
        lines = [(net, end) for net, end in lines if net and net not in {*placer.putter.flagged, *placer.done}]
        raised = _TALL if len(lines) == 2 else 0
        for n, (net, end) in enumerate(lines):
            line = At(end.x, end.y - (raised if n == 0 else 0))
            above = At(end.x, end.y - raised - 1) if raised else end
            placer.done[net] = line
            placer.board.keep_lane(net, end, above)
            x = placer.hanging.hang_all(net, above)
            lines[n] = (net, At(x if raised == 0 else end.x, line.y))
        beyond = max((end.x for _net, end in lines), default=0.0)
        return [(net, At(beyond + 2 if raised else end.x, end.y), n == 1) for n, (net, end) in enumerate(lines)]
