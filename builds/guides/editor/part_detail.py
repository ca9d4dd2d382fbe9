"""What a part is besides its columns (joins, pins, ratings, windings …) as rows of the editor's tables, and back.

What was not changed stays as the guide file wrote it.
"""

from django.utils.translation import gettext as _

from builds.guides.alternatives import alternatives_in
from builds.guides.wiring.ends import flat_joins, list_ends, nested, with_joins
from checks.circuit.netlist.terminals import LEADED, VALVES, list_pins
from checks.circuit.valves.koren import Koren
from checks.errors import ChecksError

TEXTS = ("power", "volts", "amps", "ohms", "ohms_tolerance", "leakage", "regulation", "type", "base")
WINDING = (
    "name",
    "volts",
    "tolerance",
    "amps",
    "ohms",
    "ohms_tolerance",
    "impedance",
    "inductance",
    "leakage_inductance",
)
OF_MODEL = (*Koren.__dataclass_fields__, "perveance", "volts", "amps")


class Wrong(ValueError):
    """A row of one of the tables cannot be read: `field` names the table."""

    def __init__(self, field: str, message: str):
        super().__init__(message)
        self.field = field


def to_fields(row: dict) -> dict:
    """The fields of a part as the guide file has it."""
    fields = {name: row.get(name, "") for name in TEXTS}
    fields["setting"], fields["open_when_off"] = row.get("setting"), bool(row.get("open_when_off"))
    fields["ends"] = [] if row.get("winding") else _ends(row)
    fields["windings"] = [_winding_row(winding) for winding in row.get("winding", [])]
    for name in ("limits", "model"):
        fields[name] = [{"name": key, "value": _text(value)} for key, value in (row.get(name) or {}).items()]
    fields["alternatives"] = [
        {"type": alternative.type, "note": alternative.note, "figures": _pairs(alternative.limits | alternative.model)}
        for alternative in alternatives_in(row)
    ]
    return fields


def _ends(row: dict) -> list[dict]:
    try:
        ends = list_ends({"ref": "", "kind": ""} | row)
    except (ChecksError, AttributeError, TypeError):
        return []
    return [{"terminal": end.terminal, "pin": end.pin, "point": end.point} for end in ends]


def _winding_row(winding: dict) -> dict:
    return {name: str(winding.get(name, "")) for name in WINDING} | {"joins": ", ".join(winding.get("joins", []))}


def _text(value) -> str:
    return f"{value:.12g}" if isinstance(value, int | float) and not isinstance(value, bool) else str(value)


def _pairs(figures: dict) -> str:
    return "; ".join(f"{name} {_text(value)}" for name, value in figures.items())


def to_detail(data: dict, kind: str, before: dict) -> dict:
    """The other keys of a part, from its fields; `before` is the part as it was. Raises Wrong."""
    made = {name: data.get(name, "").strip() for name in TEXTS}
    made["setting"] = data.get("setting")
    made["open_when_off"] = bool(data.get("open_when_off"))
    made |= _wiring(data.get("ends") or [], kind, before)
    made["winding"] = [_winding(row) for row in data.get("windings") or []]
    for name in ("limits", "model"):
        made[name] = _figures(name, data.get(name) or [], before.get(name) or {})
    made["alternatives"] = _alternatives(data.get("alternatives") or [], before)
    filled = {key: value for key, value in made.items() if value not in ("", None, [], {}, False)}
    return {key: filled[key] for key in before if key in filled} | filled


def _wiring(rows: list[dict], kind: str, before: dict) -> dict:
    _refuse_twice("ends", [row["terminal"] for row in rows])
    if any(not row["terminal"] for row in rows):
        raise Wrong("ends", _("Name the terminal that joins this point, such as anode or a.grid."))
    joins = {row["terminal"]: row["point"] for row in rows if row["point"]}
    pins = {row["terminal"]: row["pin"] for row in rows if row["pin"]}
    has_pins = kind in (*VALVES, *LEADED)
    if pins and not has_pins:
        raise Wrong("ends", _("Only valves, transistors, regulators and op-amps have pins."))
    old = {"ref": "", **before, "kind": kind}
    old_pins: dict | None
    is_same_kind = before.get("kind") == kind
    if not (is_same_kind and joins == flat_joins(old)):
        old_joins = with_joins({"ref": "", "kind": kind}, joins).get("joins")
    else:
        old_joins = before.get("joins")
    if has_pins and not (is_same_kind and pins == list_pins(old)):
        old_pins = nested(pins) if kind in VALVES else pins
    else:
        old_pins = before.get("pins") if is_same_kind else None
    return {"joins": old_joins, "pins": old_pins}


def _winding(row: dict) -> dict:
    joins = [point.strip() for point in row["joins"].split(",") if point.strip()]
    return {name: row[name] for name in WINDING if row[name]} | ({"joins": joins} if joins else {})


def _figures(field: str, rows: list[dict], before: dict) -> dict:
    _refuse_twice(field, [row["name"] for row in rows])
    return {row["name"]: _figure(field, row["name"], row["value"], before.get(row["name"])) for row in rows}


def _figure(field: str, name: str, typed: str, before):
    if not name:
        raise Wrong(field, _("Choose what the figure “%(value)s” is.") % {"value": typed})
    if before is not None and _text(before) == typed:
        return before
    if name == "system":
        return typed
    try:
        value = float(typed.replace(",", "."))
    except ValueError as error:
        message = _("%(name)s: “%(value)s” is not a number, such as 12 or 0.5.")
        raise Wrong(field, message % {"name": name, "value": typed}) from error
    return int(value) if value.is_integer() and abs(value) < 1e9 else value


def _alternatives(rows: list[dict], before: dict) -> list:
    by_type = {
        alternative["type"] if isinstance(alternative, dict) else alternative: alternative
        for alternative in before.get("alternatives") or []
    }
    shown = {row["type"]: row for row in to_fields({"alternatives": [*by_type.values()]})["alternatives"]}
    return [by_type[row["type"]] if shown.get(row["type"]) == row else _alternative(row) for row in rows]


def _alternative(row: dict):
    if not row["type"]:
        raise Wrong("alternatives", _("A type is missing."))
    figures: dict = {"limits": {}, "model": {}}
    for pair in filter(None, (text.strip() for text in row["figures"].split(";"))):
        name, _space, value = pair.partition(" ")
        figures["model" if name in OF_MODEL else "limits"][name] = _figure("alternatives", name, value.strip(), None)
    own = {name: table for name, table in figures.items() if table}
    note = {"note": row["note"]} if row["note"] else {}
    return {"type": row["type"], **note, **own} if note or own else row["type"]


def _refuse_twice(field: str, names: list[str]) -> None:
    if twice := next((name for name in names if name and names.count(name) > 1), ""):
        raise Wrong(field, _("%(name)s is entered more than once.") % {"name": twice})
