"""Valves: envelope, anode, grids, cathode, heater, with the numbers of their pins (IEC 60617 part 5)."""

from checks.schematic.model import At, Box, Ink, Shape, Text, Unit
from checks.schematic.symbols.strokes import Symbol, arc, circle, line

ROUND = 2.6
_NUMBER = 0.8


def _numbered(unit: Unit, ends: dict[str, At], places: dict[str, tuple[At, str]]) -> tuple[Text, ...]:
    """The pin's number beside each end that has one."""
    return tuple(
        Text(unit.pins[name], *places[name], size=_NUMBER) for name in ends if name in unit.pins and name in places
    )


def _grid(y: float, lead: At | None) -> list[Shape]:
    wires = [line((-1.3 + n * 0.58, y), (-1.3 + n * 0.58 + 0.3, y)) for n in range(5)]
    return [*wires, *([line((lead.x, lead.y), (-1.3 if lead.x < 0 else 1.32, y))] if lead else [])]


def _cathode(y: float, bottom: float) -> list[Shape]:
    return [line((-1.1, y + 0.35), (-1.1, y), (1.1, y), (1.1, y + 0.35)), line((0, y), (0, bottom))]


def _envelope(unit: Unit, radius: float) -> list[Shape]:
    """Dashed where the other section of the valve would be."""
    if unit.name == "a":
        return [arc(0, 0, radius, 60, 300), arc(0, 0, radius, -60, 60, Ink.DASHED)]
    if unit.name == "b":
        return [arc(0, 0, radius, -120, 120), arc(0, 0, radius, 120, 240, Ink.DASHED)]
    return [circle(0, 0, radius)]


def triode(unit: Unit) -> Symbol:
    start = f"{unit.name}." if unit.name else ""
    ends = {f"{start}anode": At(0, -4), f"{start}grid": At(-4, 0), f"{start}cathode": At(0, 4)}
    shapes = [
        *_envelope(unit, ROUND),
        line((-1.1, -1.2), (1.1, -1.2)),
        line((0, -1.2), (0, -4)),
        *_grid(0, ends[f"{start}grid"]),
        *_cathode(1.2, 4),
    ]
    places = {
        f"{start}anode": (At(0.5, -3.2), "start"),
        f"{start}grid": (At(-3.0, -0.7), "end"),
        f"{start}cathode": (At(0.5, 3.2), "start"),
    }
    return Symbol(tuple(shapes), ends, Box(-3.1, -3.1, 3.1, 3.1), _numbered(unit, ends, places))


def pentode(unit: Unit) -> Symbol:
    """Grid 3 has an end only where the parts list wires it; else it is drawn joined to the cathode inside."""
    ends = {"anode": At(0, -4), "grid": At(-4, 1), "screen": At(4, 0), "cathode": At(0, 4)}
    third = next((name for name in ("suppressor", "grid_3", "beam") if unit.joins.get(name)), "")
    if third:
        ends[third] = At(-4, -1)
    inside = [] if third else [line((-1.3, -0.9), (-1.8, -0.9), (-1.8, 1.7), (-1.1, 1.7))]
    shapes = [
        circle(0, 0, 2.9),
        line((-1.1, -1.7), (1.1, -1.7)),
        line((0, -1.7), (0, -4)),
        *_grid(1, At(-4, 1)),
        *_grid(0, At(4, 0)),
        *_grid(-0.9, At(-4, -1) if third else None),
        *_cathode(1.7, 4),
        *inside,
    ]
    places = {
        "anode": (At(0.5, -3.3), "start"),
        "grid": (At(-3.1, 1.7), "end"),
        "screen": (At(3.1, -0.7), "start"),
        "cathode": (At(0.5, 3.3), "start"),
        third: (At(-3.1, -1.7), "end"),
    }
    return Symbol(tuple(shapes), ends, Box(-3.1, -3.1, 3.1, 3.1), _numbered(unit, ends, places))


def rectifier(unit: Unit) -> Symbol:
    """Lying on its side, as current flows: anodes on the left, cathode on the right."""
    ends = {"anode_1": At(-4, -1), "cathode": At(4, 0)}
    if "anode_2" in unit.joins:
        ends["anode_2"] = At(-4, 1)
    else:
        ends["anode_1"] = At(-4, 0)
    shapes = [circle(0, 0, ROUND), line((1.35, -1.1), (1.0, -1.1), (1.0, 1.1), (1.35, 1.1)), line((1, 0), (4, 0))]
    for end in (end for name, end in ends.items() if name != "cathode"):
        wide = 0.7 if "anode_2" in ends else 1.1
        shapes += [line((-4, end.y), (-0.8, end.y)), line((-0.8, end.y - wide), (-0.8, end.y + wide))]
    places = {
        "anode_1": (At(-2.9, ends["anode_1"].y - 0.7), "end"),
        "anode_2": (At(-2.9, 1.7), "end"),
        "cathode": (At(2.9, -0.7), "start"),
    }
    return Symbol(tuple(shapes), ends, Box(-3.1, -3, 3.1, 3), _numbered(unit, ends, places))


def heater(unit: Unit) -> Symbol:
    """An end above and one below; ends that share a net on the same side, a centre tap on the other or at the side."""
    one, two = unit.joins.get("heater.1", ""), unit.joins.get("heater.2", "")
    ends: dict[str, At] = {}
    if one == two and "heater_centre" in unit.joins and one:
        ends = {"heater.1": At(-1, -3), "heater.2": At(1, -3), "heater_centre": At(0, 3)}
        strokes = [line((-1, -3), (-1, 0.9), (0, 0.9)), line((1, -3), (1, 0.9), (0, 0.9)), line((0, 0.9), (0, 3))]
    else:
        ends = {name: at for name, at in (("heater.1", At(0, -3)), ("heater.2", At(0, 3))) if name in unit.joins}
        strokes = [line((0, -3), (0, -1), (-0.9, 0), (0, 1), (0, 3))]
        if "heater_centre" in unit.joins:
            ends["heater_centre"] = At(-3, 0)
            strokes.append(line((-3, 0), (-0.9, 0)))
    places = {
        name: (At(at.x + (0.4 if at.x >= 0 else -0.4), at.y * 0.75), "start" if at.x >= 0 else "end")
        for name, at in ends.items()
    } | ({"heater_centre": (At(-2.0, -0.7), "end")} if ends.get("heater_centre") == At(-3, 0) else {})
    return Symbol((circle(0, 0, 1.5), *strokes), ends, Box(-1.6, -2.1, 1.6, 2.1), _numbered(unit, ends, places))
