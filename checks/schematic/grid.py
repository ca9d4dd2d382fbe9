"""The grid that wires run on: where none may pass, and which net runs along, across or through each point."""

import math
from dataclasses import dataclass, field

from checks.schematic.model import Box

Point = tuple[int, int]
Edge = tuple[Point, Point]
STEPS: tuple[Point, ...] = ((1, 0), (0, 1), (-1, 0), (0, -1))


def edge(one: Point, other: Point) -> Edge:
    return (one, other) if one <= other else (other, one)


@dataclass
class Grid:
    """`ends`: point -> net of a symbol's end there. A point in `blocked` carries no wire, but for the end it is."""

    limits: Box
    ends: dict[Point, str]
    blocked: set[Point] = field(default_factory=set)
    cut: set[Edge] = field(default_factory=set)  # edges that a box lies across
    knots: dict[Point, set[str]] = field(default_factory=dict)  # where a wire of a net bends, ends or branches
    runs: dict[Edge, str] = field(default_factory=dict)

    def block(self, box: Box) -> None:
        """No wire through the box."""
        left, right = math.ceil(box.left), math.floor(box.right)
        top, bottom = math.ceil(box.top), math.floor(box.bottom)
        self.blocked |= {(x, y) for x in range(left, right + 1) for y in range(top, bottom + 1)}
        for x in range(left, right + 1):  # edges that pass through a box with no point of the grid between
            if top > bottom:
                self.cut.add(((x, bottom), (x, top)))
        for y in range(top, bottom + 1):
            if left > right:
                self.cut.add(((right, y), (left, y)))

    def inside(self, at: Point) -> bool:
        return self.limits.left <= at[0] <= self.limits.right and self.limits.top <= at[1] <= self.limits.bottom

    def may_pass(self, net: str, start: Point, step: Point, is_bend: bool) -> bool:
        """May a wire of `net` go one step from `start`? A bend may not be made on another net's wire."""
        stop = (start[0] + step[0], start[1] + step[1])
        along = edge(start, stop)
        if not self.inside(stop) or along in self.cut or self.runs.get(along, net) != net:
            return False
        end = self.ends.get(stop)
        if end is not None:
            return end == net
        if stop in self.blocked or any(n != net for n in self.knots.get(stop, ())):
            return False
        return not (is_bend and self.is_crossed(net, start))

    def is_crossed(self, net: str, at: Point) -> bool:
        """Does another net's wire run through this point?"""
        return any(self.runs.get(edge(at, (at[0] + dx, at[1] + dy)), net) != net for dx, dy in STEPS)

    def runs_through(self, at: Point) -> set[str]:
        nets = (self.runs.get(edge(at, (at[0] + dx, at[1] + dy))) for dx, dy in STEPS)
        return {net for net in nets if net}

    def lay(self, net: str, path: list[Point]) -> None:
        """Put a wire on record."""
        for one, other in zip(path, path[1:], strict=False):
            self.runs[edge(one, other)] = net
        for n, at in enumerate(path):
            is_end = n in (0, len(path) - 1)
            if is_end or _bends(path[n - 1], at, path[n + 1]):
                self.knots.setdefault(at, set()).add(net)


def _bends(before: Point, at: Point, after: Point) -> bool:
    return (at[0] - before[0], at[1] - before[1]) != (after[0] - at[0], after[1] - at[1])
