"""A schematic from a parts list: units sorted into sections, each placed, wired and flagged by itself."""

from collections import Counter

from checks.errors import ChecksError
from checks.schematic.board import Board
from checks.schematic.flagging import NoRoom, flag_nets, name_pieces
from checks.schematic.grid import Grid
from checks.schematic.heaters import place_heaters
from checks.schematic.model import CHASSIS, At, Box, Component, Schematic, Section, SectionKind, Unit, Wire
from checks.schematic.nets import Nets, is_control, is_device, read_nets
from checks.schematic.placing import Placer
from checks.schematic.routing import connect, straight_wires
from checks.schematic.symbol_placing import SymbolPlacer, is_two_ended
from checks.schematic.units import list_units

LONGEST = {SectionKind.SIGNAL: 45, SectionKind.SUPPLY: 90, SectionKind.HEATERS: 200}
GAPS = (0.9, 1.9, 2.9)  # squares between symbols; more where wires find no way
TRIES = 5
BESIDE = 0.2  # squares that a wire keeps from words beside it
MARGIN = 6  # squares round the symbols that wires may use
MOST_UNITS = 400


def draw(components: list[Component]) -> Schematic:
    """Raises ChecksError where a parts list cannot be drawn at all: its wiring then stays a table. A section that finds
    no room is left out, and its units are named in `undrawn`."""
    units, left_out = list_units(components)
    if len(units) > MOST_UNITS:
        raise ChecksError("Too many parts to draw.", code="schematic-size", most=MOST_UNITS)
    nets = read_nets(units)
    groups = [group for group in _groups(units, nets) if group[1]]
    tried = [(_section(kind, members, nets, groups), members) for kind, members in groups]
    sections = tuple(section for section, _members in tried if section)
    undrawn = tuple(unit for section, members in tried if not section for unit in members)
    if undrawn and not sections:
        raise ChecksError("No room.", code="schematic-room", refs=sorted({unit.ref for unit in undrawn}))
    return Schematic(sections, tuple(left_out), undrawn)


def _groups(units: list[Unit], nets: Nets) -> list[tuple[SectionKind, list[Unit]]]:
    """Signal circuits that hang together, then the supply, then the heaters."""
    by_kind: dict[SectionKind, list[Unit]] = {kind: [] for kind in SectionKind}
    for unit in units:
        by_kind[nets.find_section(unit)].append(unit)
    signals = _circuits(by_kind[SectionKind.SIGNAL], nets.flagged)
    fed = {net for unit in by_kind[SectionKind.SUPPLY] for net in unit.nets} - nets.flagged
    for members in [m for m in signals if not any(is_device(u) for u in m)]:
        moved = [u for u in members if u.nets & fed]
        by_kind[SectionKind.SUPPLY] += moved
        members[:] = [u for u in members if u not in moved]
    return [
        *((SectionKind.SIGNAL, members) for members in signals if members),
        (SectionKind.SUPPLY, by_kind[SectionKind.SUPPLY]),
        (SectionKind.HEATERS, by_kind[SectionKind.HEATERS]),
    ]


def _circuits(units: list[Unit], flagged: set[str]) -> list[list[Unit]]:
    """Units that hang together by nets that are wired; what has no stage in it is put with the last."""
    groups: list[list[Unit]] = []
    for unit in units:
        joined = [g for g in groups if any(u.nets & unit.nets - flagged for u in g)]
        groups = [g for g in groups if g not in joined] + [[u for g in joined for u in g] + [unit]]
    large = [g for g in groups if any(is_device(u) for u in g)]
    small = [u for g in groups if g not in large for u in g]
    order = {unit.key: n for n, unit in enumerate(units)}
    large.sort(key=lambda g: min(order[u.key] for u in g))
    return [*large, small] if small else large


def _section(kind: SectionKind, units: list[Unit], nets: Nets, groups) -> Section | None:
    own_nets = {net for unit in units for net in unit.nets}
    elsewhere = {net for _k, members in groups if members is not units for unit in members for net in unit.nets}
    flagged = {CHASSIS} if kind != SectionKind.SIGNAL else nets.flagged
    if kind == SectionKind.SUPPLY:
        flagged = {CHASSIS} | (nets.heaters & elsewhere) - nets.rails
    for gap in GAPS:
        putter = SymbolPlacer(Board(gap), flagged, _negative(nets), _earths(units, nets))
        placer = Placer(units, nets, putter)
        _place(kind, placer, units, nets)
        if not placer.failed and (
            section := _wired_somehow(kind, putter, (own_nets & elsewhere) - flagged | placer.named)
        ):
            return section
    return None


def _wired_somehow(kind: SectionKind, putter: SymbolPlacer, announced: set[str]) -> Section | None:
    """Wired, or None: a net that finds no way is wired before the others the next time."""
    first: list[str] = []
    extra = flag_nets(putter, announced)
    for _again in range(TRIES):
        try:
            return _wired(kind, putter, extra, first)
        except NoRoom as error:
            if error.net in first:
                return None
            first.insert(0, error.net)
    return None


def _place(kind: SectionKind, placer: Placer, units: list[Unit], nets: Nets) -> None:
    if kind == SectionKind.HEATERS:
        place_heaters(placer, units)
        return
    starts = _inputs(units, nets) if kind == SectionKind.SIGNAL else _mains(units, nets)
    placer.inputs = frozenset(unit.key for unit in starts)
    for unit in starts:
        if unit.key in placer.pending:
            placer.start(unit)
    if not starts and (net := _first_net(units, nets)):
        placer.begin(net)
        placer.named.add(net)
    placer.finish()


def _first_net(units: list[Unit], nets: Nets) -> str:
    """Where no input is drawn: the net farthest before a grid that no other stage drives."""
    for unit in units:
        for terminal, net in unit.joins.items():
            if is_device(unit) and is_control(unit, terminal) and net and net not in nets.flagged:
                ends = nets.around({net}, nets.flagged)
                if not any(is_device(u) and not is_control(u, t) for u, t in ends):
                    return list(dict.fromkeys(u.joins[t] for u, t in ends))[-1]
    return ""


def _mains(units: list[Unit], nets: Nets) -> list[Unit]:
    """Mains connectors, then the transformer, then other sources."""
    order = ("connector", "mains transformer", "dc supply", "battery")
    mains_units = [u for u in units if u.kind in order and (u.kind != "connector" or u.nets & nets.mains)]
    return sorted(mains_units, key=lambda u: order.index(u.kind))


def _inputs(units: list[Unit], nets: Nets) -> list[Unit]:
    """Connectors, and parts with an end that joins nothing else, nearer to a grid than to an anode or a secondary."""
    inputs = [unit for unit in units if _is_at_the_edge(unit, nets) and _is_input(unit, nets)]
    return sorted(inputs, key=lambda unit: unit.kind != "connector")


def _is_at_the_edge(unit: Unit, nets: Nets) -> bool:
    return unit.kind == "connector" or is_two_ended(unit) and any(len(nets.at[net]) == 1 for net in unit.nets)


def _is_input(connector: Unit, nets: Nets) -> bool:
    layer, seen = set(connector.nets) - nets.flagged, set[str]()
    while layer:
        ends = [(u, t) for net in layer for u, t in nets.at[net]]
        if any("transformer" in u.kind or (is_device(u) and not is_control(u, t)) for u, t in ends):
            return False
        if any(is_control(u, t) for u, t in ends):
            return True
        seen |= layer
        layer = {net for u, _t in ends for net in u.nets} - seen - nets.flagged
    return False


def _negative(nets: Nets) -> set[str]:
    """Rails below the chassis, as the polarity of their capacitors has it."""
    rails = {
        unit.joins["minus"]
        for unit in nets.units
        if unit.kind == "electrolytic" and unit.joins.get("plus") == CHASSIS and unit.joins.get("minus") in nets.rails
    }
    todo = list(rails)
    while todo:
        for unit, _t in nets.at.get(todo.pop(), ()):
            if unit.kind in ("resistor", "potentiometer"):
                new = {n for n in unit.nets & nets.rails if n not in rails and not _is_positive(nets, n)}
                rails |= new
                todo += new
    return rails - {CHASSIS, ""}


def _is_positive(nets: Nets, net: str) -> bool:
    return any(u.kind == "electrolytic" and t == "plus" for u, t in nets.at[net])


def _earths(units: list[Unit], nets: Nets) -> set[str]:
    return {u.ref for u in units if u.kind == "connector" and u.nets & nets.mains}


def _wired(kind: SectionKind, putter: SymbolPlacer, extra: dict, first: list[str]) -> Section:
    board = putter.board.copy()
    grid = _grid(board, extra)
    owners: dict[str, list] = {}
    for at, net in grid.ends.items():
        owners.setdefault(net, []).append(at)
    wires, dots = [], []
    joined = Counter(net for symbol in board.placed for net in symbol.unit.joins.values())
    joined.update(extra.values())
    nets = [n for n in owners if n not in putter.flagged and not n.startswith("\0")]
    for net in sorted(nets, key=lambda n: (n not in first, _spread(owners[n]), n)):
        pieces = connect(grid, net, owners[net], LONGEST[kind])
        if len(pieces) > 1 or joined[net] == 1:
            name_pieces(board, grid, net, pieces)
    leads = Counter((round(at.x), round(at.y)) for symbol in board.placed for at in symbol.ends.values())
    leads.update((round(one.at.x), round(one.at.y)) for one in board.flags)
    for net in nets:
        runs, knots = straight_wires(grid, net, leads)
        wires += [Wire(net, At(*one), At(*other)) for one, other in runs]
        dots += [At(*at) for at in knots]
    extent = _extent(board, wires)
    return Section(kind, tuple(board.placed), tuple(wires), tuple(dots), tuple(board.flags), extent)


def _grid(board: Board, extra: dict) -> Grid:
    ends = {(round(x), round(y)): net for (x, y), net in (board.ends | extra).items()}
    grid = Grid(board.extent.grown(MARGIN), ends)
    for box in board.boxes:
        grid.block(Box(box.left - BESIDE, box.top, box.right + BESIDE, box.bottom))
    return grid


def _spread(points: list) -> int:
    xs, ys = [x for x, _y in points], [y for _x, y in points]
    return max(xs) - min(xs) + max(ys) - min(ys)


def _extent(board: Board, wires: list[Wire]) -> Box:
    box = board.extent
    xs = [box.left, box.right, *(p.x for w in wires for p in (w.start, w.stop))]
    ys = [box.top, box.bottom, *(p.y for w in wires for p in (w.start, w.stop))]
    return Box(min(xs) - 1, min(ys) - 1, max(xs) + 1, max(ys) + 1)
