"""Wires along the grid: at right angles, round symbols and words, across other wires only straight."""

import heapq
from itertools import count

from checks.schematic.grid import STEPS, Grid, Point, edge

BEND, CROSS = 3, 4  # what these cost, in squares of wire
MOST_STEPS = 12000


def connect(grid: Grid, net: str, ends: list[Point], longest: int) -> list[set[Point]]:
    """Join the ends of a net. Returns its pieces, each as the points it runs through: one piece where all went well."""
    pieces = [{at} for at in dict.fromkeys(ends)]
    given_up: list[set[Point]] = []
    while len(pieces) > 1:
        pieces.sort(key=len)
        piece = pieces.pop(0)
        goals = {at: other for other in pieces for at in other}
        path = _path(grid, net, piece, goals, longest)
        if path is None:
            given_up.append(piece)
            continue
        grid.lay(net, path)
        goals[path[-1]].update(piece, path)
    return given_up + pieces


def _path(grid: Grid, net: str, starts: set[Point], goals: dict, longest: int) -> list[Point] | None:
    """The cheapest way from any start to any goal."""
    heap: list[tuple] = []
    best: dict = {}
    came: dict = {}
    order = count()
    near = _nearness(goals)
    for at in starts:
        if _may_join(grid, net, at):
            best[at, None] = 0
            heapq.heappush(heap, (near(at), next(order), 0, at, None))
    steps = 0
    while heap and steps < MOST_STEPS:
        _far, _n, cost, at, came_by = heapq.heappop(heap)
        if cost > best.get((at, came_by), cost):
            continue
        if at in goals and (came_by is None or _may_join(grid, net, at)):
            return _back(came, (at, came_by))
        steps += 1
        for step in STEPS:
            new = _step(grid, net, at, came_by, step, cost, goals)
            if new is None or new[0] > longest + BEND * 6:
                continue
            total, there = new
            if total < best.get((there, step), 1e9):
                best[there, step] = total
                came[there, step] = (at, came_by)
                heapq.heappush(heap, (total + near(there), next(order), total, there, step))
    return None


def _step(grid, net, at, came_by, step, cost, goals):
    """(cost, point) of going on by `step`, or None where that is not allowed."""
    is_bend = came_by is not None and step != came_by
    if came_by is not None and step == (-came_by[0], -came_by[1]):
        return None
    if not grid.may_pass(net, at, step, is_bend):
        return None
    there = (at[0] + step[0], at[1] + step[1])
    crossed = 0 if there in goals else len(grid.runs_through(there) - {net})
    return cost + 1 + BEND * is_bend + CROSS * crossed, there


def _may_join(grid: Grid, net: str, at: Point) -> bool:
    """A wire may begin or end here: nobody else's wire runs through the point."""
    return not grid.is_crossed(net, at)


def _nearness(goals):
    """A lower bound on what is left to go: the way to the box round all goals."""
    left, right = min(x for x, _y in goals), max(x for x, _y in goals)
    top, bottom = min(y for _x, y in goals), max(y for _x, y in goals)

    def near(at: Point) -> int:
        x, y = at
        return max(left - x, 0, x - right) + max(top - y, 0, y - bottom)

    return near


def _back(came: dict, state) -> list[Point]:
    path = [state[0]]
    while state in came:
        state = came[state]
        path.append(state[0])
    return path[::-1]


def straight_wires(grid: Grid, net: str, leads: dict[Point, int]) -> tuple[list[tuple[Point, Point]], list[Point]]:
    """(a net's wires between its ends, bends and branches; the points where three or more meet). `leads`: how many
    symbols and flags begin at a point."""
    edges = [pair for pair, owner in grid.runs.items() if owner == net]
    meets: dict[Point, set[Point]] = {}
    for one, other in edges:
        meets.setdefault(one, set()).add(other)
        meets.setdefault(other, set()).add(one)
    knots = {at for at, others in meets.items() if at in grid.ends or _is_knot(at, others)}
    wires, seen = [], set()
    for knot in sorted(knots):
        for first in sorted(meets[knot]):
            if edge(knot, first) in seen:
                continue
            before, at = knot, first
            seen.add(edge(before, at))
            while at not in knots:
                before, at = at, next(n for n in meets[at] if n != before)
                seen.add(edge(before, at))
            wires.append((knot, at))
    return wires, sorted(at for at, others in meets.items() if len(others) + leads.get(at, 0) >= 3)


def _is_knot(at: Point, others: set[Point]) -> bool:
    if len(others) != 2:
        return True
    one, other = others
    return (one[0] - at[0], one[1] - at[1]) != (at[0] - other[0], at[1] - other[1])
