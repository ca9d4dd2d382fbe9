"""The valves a socket may hold beside the guide's own type: key `alternatives` of a part."""

import copy
from dataclasses import dataclass, field

from checks.circuit.netlist.terminals import VALVES
from checks.circuit.valves.types import find_heater, find_type

OF_TYPE = ("type", "limits", "model")  # keys of a part that belong to its type, and not to its socket


@dataclass(frozen=True)
class Alternative:
    """A permitted type; `limits` and `model` as a part has them, empty where the book's hold."""

    type: str
    limits: dict = field(default_factory=dict)
    model: dict = field(default_factory=dict)
    note: str = ""


def alternatives_in(row: dict) -> list[Alternative]:
    """Of a part as the guide file has it: each a type, or a table with the type and figures of its own."""
    rows = row.get("alternatives") or []
    return [Alternative(**item) if isinstance(item, dict) else Alternative(str(item)) for item in rows]


def list_alternatives(part) -> list[Alternative]:
    return alternatives_in(part.detail) if part.kind in VALVES else []


def own_type(part) -> str:
    """The type that the guide has in a socket."""
    return str(part.detail.get("type") or part.value or part.kind)


def permitted_types(part) -> list[str]:
    """Every type a socket may hold, the guide's own first."""
    return [own_type(part), *(alternative.type for alternative in list_alternatives(part))]


def is_same_type(one: str, other: str) -> bool:
    """Are these names of the same valve, such as ECC83 and 12AX7? ECL82 and PCL82 are not: their heaters differ."""
    a, b = find_type(one), find_type(other)
    is_one_row = bool(a and b and a["name"] == b["name"]) and find_heater(one) == find_heater(other)
    return one.strip().upper() == other.strip().upper() or is_one_row


def is_guides_type(part, type_: str) -> bool:
    """Is it the guide's own type, under whatever name, with nothing of its own?"""
    chosen = next((alternative for alternative in list_alternatives(part) if alternative.type == type_), None)
    return is_same_type(type_, own_type(part)) and not (chosen and (chosen.limits or chosen.model))


def row_with_type(row: dict, type_: str) -> dict:
    """A part as the guide file has it, with another of its permitted types in the socket."""
    chosen = next((alternative for alternative in alternatives_in(row) if alternative.type == type_), None)
    if chosen is None:
        return row
    rest = {key: value for key, value in row.items() if key not in OF_TYPE}
    own = {key: value for key in ("limits", "model") if (value := getattr(chosen, key))}
    return rest | {"type": type_} | own


def part_with(part, type_: str, tested: dict):
    """A copy of a part's row with what sits in the socket: its type, and what was measured of this very valve."""
    fitted = copy.copy(part)
    fitted.detail = row_with_type(part.detail, type_) | ({"tested": tested} if tested else {})
    return fitted
