"""The ends of a part: terminals, socket pins and winding ends, with the point that each joins."""

from dataclasses import dataclass

from checks.circuit.netlist.terminals import EXTRA, LISTED, NAMED, SECTIONS, VALVES, list_pins
from checks.circuit.netlist.transistors import TRANSISTORS

HEATERS = ("heater.1", "heater.2", "heater_centre")
SIGNS = {"plus": "+", "minus": "-"}


@dataclass(frozen=True)
class End:
    """One end of a part. `pin` is its socket pin where it has one; `point` what it joins, "" for nothing."""

    ref: str
    terminal: str
    pin: str = ""
    point: str = ""

    @property
    def address(self) -> str:
        """As a person writes it: V1.6, R7.a, C4.+, T1.ht.1."""
        return f"{self.ref}.{self.pin or SIGNS.get(self.terminal, self.terminal)}"


def list_ends(row: dict) -> list[End]:
    """The ends of a row of the parts list, in the order in which they are wired."""
    kind, ref = row.get("kind", ""), row["ref"]
    if row.get("winding"):
        return [
            End(ref, f"{winding.get('name') or n}.{k}", "", point)
            for n, winding in enumerate(row["winding"], 1)
            for k, point in enumerate(winding.get("joins", []), 1)
        ]
    joins = flat_joins(row)
    names = _names(row, kind, joins)
    pins = list_pins(row) if kind in (*VALVES, *TRANSISTORS) else {}
    return [End(ref, name, pins.get(name, ""), joins.get(name, "")) for name in names]


NEEDS_NO_WIRE = ("hardware", "connector", "link", "test resistor", "test battery")


def is_unwired(row: dict) -> bool:
    """Does none of the part's ends join a point, though it is one that the circuit needs?"""
    return row.get("kind") not in NEEDS_NO_WIRE and not any(end.point for end in list_ends(row))


def _names(row: dict, kind: str, joins: dict) -> list[str]:
    if kind in LISTED:
        return [*LISTED[kind]]
    if kind in NAMED:
        return [*NAMED[kind]]
    if kind in VALVES:
        return _electrodes(row, kind, joins)
    if kind == "connector":
        return [*joins] or ["1", "2"]
    return [*joins]


def _electrodes(row: dict, kind: str, joins: dict) -> list[str]:
    """Those a valve of the kind has, then the others that its pins or wires name."""
    sections = SECTIONS[kind]
    needed = [f"{s}.{name}" if s else name for s, names in sections.items() for name in names]
    more = [f"{s}.{name}" if s else name for s in sections for name in EXTRA[kind]]
    pins = list_pins(row)
    return [*needed, *(name for name in (*more, *HEATERS) if name in pins or name in joins)]


def flat_joins(row: dict) -> dict[str, str]:
    """Terminal -> point, whichever way the guide file has written it."""
    joins = row.get("joins") or {}
    if isinstance(joins, list):
        names = LISTED.get(row.get("kind", ""), tuple(str(n) for n in range(1, len(joins) + 1)))
        return {name: point for name, point in zip(names, joins, strict=False) if point}
    points: dict[str, str] = {}
    for name, value in joins.items():
        if isinstance(value, dict):
            points |= {f"{name}.{inner}": point for inner, point in value.items() if point}
        elif isinstance(value, list):
            points |= {f"{name}.{n}": point for n, point in enumerate(value, 1) if point}
        elif value:
            points[name] = value
    return points


def with_joins(row: dict, flat: dict[str, str]) -> dict:
    """The row with these joins, written as the guide file writes them; a part half wired names its ends."""
    if row.get("winding"):
        return row | {"winding": [_winding(winding, n, flat) for n, winding in enumerate(row["winding"], 1)]}
    flat = {name: point for name, point in flat.items() if point}
    row = {key: value for key, value in row.items() if key != "joins"}
    if not flat:
        return row
    names = LISTED.get(row.get("kind", ""))
    if names and all(name in flat for name in names):
        return row | {"joins": [flat[name] for name in names]}
    return row | {"joins": nested(flat) if row.get("kind") in VALVES else flat}


def _winding(winding: dict, n: int, flat: dict[str, str]) -> dict:
    name = winding.get("name") or n
    joins = [flat.get(f"{name}.{k}", point) for k, point in enumerate(winding.get("joins", []), 1)]
    return winding | {"joins": joins}


def nested(flat: dict[str, str]) -> dict:
    """Sections as tables and both heater ends as a list; one heater end alone stays by its name."""
    joins: dict = {}
    for name, point in flat.items():
        first, _dot, rest = name.partition(".")
        if first == "heater":
            continue
        if rest:
            joins.setdefault(first, {})[rest] = point
        else:
            joins[name] = point
    ends = [flat.get("heater.1", ""), flat.get("heater.2", "")]
    if all(ends):
        joins["heater"] = ends
    elif any(ends):
        joins["heater"] = {str(n): point for n, point in enumerate(ends, 1) if point}
    return joins
