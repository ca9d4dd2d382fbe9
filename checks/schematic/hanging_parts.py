"""Parts that lead from a line to the chassis or to a supply: they hang below it or stand above it."""

from checks.schematic.model import CHASSIS, At, Unit
from checks.schematic.nets import is_control
from checks.schematic.symbol_placing import is_two_ended, other_end, turn_along

WAYS = {1: "down", -1: "up"}
DEEP = 4  # parts in a row that still hang together


class HangingParts:
    def __init__(self, placer):
        self.placer = placer
        self.beside: dict[str, str] = {}  # net at the lower end of what hangs -> the net it hangs from

    def side(self, net: str, unit: Unit, terminal: str, deep: int = 0) -> int:
        """1 where the part hangs below the net's line, -1 where it stands above it, 0 where it leads elsewhere."""
        if deep > DEEP or self.placer.is_in_ring(unit) or not (is_two_ended(unit) or unit.kind == "potentiometer"):
            return 0
        if unit.kind == "potentiometer":
            return self._side_of_track(net, unit, terminal)
        other = unit.joins.get(other_end(unit, terminal), "")
        if other == net:
            return 0
        if self.beside.get(other) == net:
            return 1
        if not other or other == CHASSIS or other in self.placer.putter.negative:
            return 1
        if other in self.placer.putter.flagged:
            return -1
        if other in self.placer.done or len(self.placer.nets.at[other]) == 1:
            return 0
        return self._beyond(other, unit, deep, is_held=self.placer.is_held(net))

    def _side_of_track(self, net: str, unit: Unit, terminal: str) -> int:
        others = {n for t, n in unit.joins.items() if t != terminal and n and n != net}
        if terminal == "wiper" or not others <= self.placer.putter.flagged:
            return 0
        return 1 if CHASSIS in others or others & self.placer.putter.negative or not others else -1

    def _beyond(self, net: str, come_by: Unit, deep: int, is_held: bool) -> int:
        """Where everything else on a net hangs as well, the side on which it ends. Below a cathode it is enough that
        one part leads on to the chassis: the others bring feedback there."""
        if any(is_control(u, t) for u, t in self.placer.nets.at[net]):
            return 0
        ends = [(u, t) for u, t in self.placer.nets.at[net] if u.key != come_by.key]
        if not ends or any(u.key not in self.placer.pending for u, _t in ends):
            return 0 if ends else 1
        sides = [self.side(net, u, t, deep + 1) for u, t in ends]
        if is_held and 1 in sides and come_by.kind == "resistor":
            return 1
        return 0 if 0 in sides else max(sides)

    def hang_all(self, net: str, at: At, is_side: bool = False) -> float:
        """Put everything that hangs on the net at `at`; how far to the right its line is taken up below. A screen's
        feed lies `is_side`: above it runs the anode's wire."""
        x = at.x
        sides = [(u, t, self.side(net, u, t)) for u, t in self.placer.at(net)]
        for unit, terminal, side in sorted(sides, key=lambda row: (-row[2], row[0].kind != "resistor")):
            if side and unit.key in self.placer.pending:
                x = max(x, self._hang(net, unit, terminal, at, "right" if is_side and side < 0 else WAYS[side]))
        return x

    def lead_aside(self, net: str, at: At, unit: Unit) -> None:
        """A screen's resistor to a tap of the transformer stands beside its valve."""
        ends = self.placer.nets.at[net]
        for other, terminal in self.placer.at(net):
            if len(ends) == 2 and is_two_ended(other) and other.joins.get(other_end(other, terminal)) not in unit.nets:
                self._hang(net, other, terminal, at, "right")

    def _hang(self, net: str, unit: Unit, terminal: str, at: At, way: str) -> float:
        symbol = turn_along(unit, terminal, way)
        beside = "above" if way == "right" else "left" if unit.kind == "potentiometer" else "right"
        placed = self.placer.put(unit, symbol, at, beside=beside)
        if not placed:
            return at.x
        there = placed.ends[terminal]
        self.placer.board.keep_lane(net, at, there)
        for name, end in placed.ends.items():
            onward = unit.joins.get(name, "")
            if name != terminal and onward and onward not in (*self.placer.putter.flagged, *self.placer.done, net):
                self.placer.done[onward] = end
                self.beside[onward] = net
                self.hang_all(onward, end)
        return there.x
