"""Flags put after the symbols: the names sections know each other's nets by, and those where a wire would be long."""

from collections import deque

from checks.schematic.board import GAP, Board
from checks.schematic.flags import flag
from checks.schematic.grid import STEPS, Grid, Point
from checks.schematic.model import At, Box


class NoRoom(Exception):
    """A net that can be neither wired nor named."""

    def __init__(self, net: str):
        super().__init__(net)
        self.net = net


_FAR = 40
_REACH = 3000


def flag_nets(putter, nets: set[str]) -> dict[tuple[float, float], str]:
    """A flag near the line of each net that other sections name: where it stands, to be wired to."""
    board, flags = putter.board, {}
    for net in sorted(nets):
        home = _find_home(board, net)
        if home is None:
            continue
        down = net in putter.negative
        for at in _near(home, down):
            one = flag(net, at, "down" if down else "up")
            if board.is_free([one.box], {at: net}) and at not in board.ends:
                board.take([one.box], {at: net})
                board.flags.append(one)
                flags[at] = net
                break
    return flags


def _find_home(board: Board, net: str) -> At | None:
    points = [At(*at) for at, owner in board.ends.items() if owner == net]
    return min(points, key=lambda p: (p.x, p.y)) if points else None


def _near(home: At, down: bool):
    side = 1 if down else -1
    for far in range(_FAR):
        for dx in (*range(far + 1), *(-n for n in range(1, far + 1))):
            yield At(home.x + dx, home.y + side * (1 + far - abs(dx)))


def name_pieces(board: Board, grid: Grid, net: str, pieces: list[set[Point]]) -> None:
    """A flag at each piece of a net that could not be joined by wire. Raises NoRoom where one has no room."""
    for piece in pieces:
        path, one = _nearest_room(grid, board, net, piece)
        grid.lay(net, path)
        grid.ends.setdefault(path[-1], net)
        grid.block(one.box)
        board.flags.append(one)
        board.boxes.append(one.box)


def _nearest_room(grid: Grid, board: Board, net: str, piece: set[Point]):
    came: dict[Point, Point | None] = {at: None for at in sorted(piece) if not grid.is_crossed(net, at)}
    todo = deque(came)
    while todo and len(came) < _REACH:
        at = todo.popleft()
        for direction in ("right", "left", "up", "down"):
            one = flag(net, At(*at), direction)
            is_own = at not in grid.ends or grid.ends[at] == net
            if is_own and _has_room(grid, board, net, one.box, at) and not _leads_through(_path(came, at), one.box):
                return _path(came, at), one
        for step in STEPS:
            there = (at[0] + step[0], at[1] + step[1])
            if there not in came and grid.may_pass(net, at, step, True) and not grid.runs_through(there):
                came[there] = at
                todo.append(there)
    raise NoRoom(net)


def _leads_through(path: list[Point], box: Box) -> bool:
    """Would the wire to a flag run through its own words?"""
    return any(box.left <= x <= box.right and box.top <= y <= box.bottom for x, y in path[:-1])


def _path(came: dict, at: Point) -> list[Point]:
    path = [at]
    while came[at] is not None:
        at = came[at]
        path.append(at)
    return path[::-1]


def _has_room(grid: Grid, board: Board, net: str, box: Box, at: Point) -> bool:
    """No symbol, word, end or wire in the box, but the net's own wire at its edge."""
    if any(box.grown(-0.02).overlaps(other.grown(GAP / 3)) for other in board.boxes):
        return False
    if any(box.overlaps(text.box) for symbol in board.placed for text in symbol.texts):  # numbers of pins too
        return False
    near = box.grown(0.3)
    for x in range(int(near.left) - 1, int(near.right) + 2):
        for y in range(int(near.top) - 1, int(near.bottom) + 2):
            if (x, y) == at or not (near.left <= x <= near.right and near.top <= y <= near.bottom):
                continue
            if grid.runs_through((x, y)) or (x, y) in grid.ends:
                return False
    return True
