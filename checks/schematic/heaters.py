"""The heaters of all valves in a row, their lines above and below, and what else joins those lines to the right."""

from checks.schematic.model import CHASSIS, At, Unit
from checks.schematic.symbol_placing import turn_along
from checks.schematic.symbols import draw_symbol, ends_in_order, is_two_ended


def place_heaters(placer, units: list[Unit]) -> None:
    rest = [unit for unit in units if unit.kind != "heater"]
    for n, unit in enumerate(unit for unit in units if unit.kind == "heater"):
        placer.put(unit, draw_symbol(unit), At(6 * n, 0), beside="right")
    for unit in sorted(rest, key=lambda u: (CHASSIS not in u.nets, u.ref)):
        x = round(placer.board.extent.right) + 2
        if is_two_ended(unit) or unit.kind == "potentiometer":
            first, second = ("top", "bottom") if unit.kind == "potentiometer" else ends_in_order(unit)
            top = second if unit.joins.get(first) == CHASSIS else first
            y = 5 if _is_below(placer, unit.joins.get(top, "")) else -2
            x = 1 if y == 5 else x
            placer.put(unit, turn_along(unit, top, "down"), At(x, y), beside="right")
        else:
            placer.put(unit, draw_symbol(unit), At(x + 4, -2), beside="above")


def _is_below(placer, net: str) -> bool:
    """Is this the line that the heaters are joined to from below?"""
    rows = [y for (_x, y), owner in placer.board.ends.items() if owner == net]
    return bool(rows) and min(rows) > 0
