"""What the book of valves fills in for a type: its kind, base and pins."""

from checks.circuit.valves.pinouts import published_pinout
from checks.circuit.valves.types import data, find_type


def valve_keys(type_: str) -> dict:
    """{"kind", "base", "pins"} of the guide file, as far as the book knows them; empty for an unknown type."""
    row = find_type(type_) if type_ else None
    if row is None:
        return {}
    sheet = published_pinout().get(row["name"])
    kind = _kind(row, sheet)
    return {"kind": kind} | ({"base": sheet["base"], "pins": _pins(kind, sheet)} if sheet else {})


def _kind(row: dict, sheet: dict | None) -> str:
    if row["group"] == "rectifiers":
        return "rectifier valve"
    return "twin triode" if row["kind"] == "triode" and sheet and len(sheet["sections"]) == 2 else row["kind"]


def _pins(kind: str, sheet: dict) -> dict:
    """Electrodes with their socket pins, as the guide file writes them."""
    sections = [_section(section) for section in sheet["sections"]]
    pins = dict(zip("ab", sections, strict=True)) if kind == "twin triode" else dict(sections[0])
    if sheet.get("heater"):
        pins["heater"] = list(sheet["heater"])
    if sheet.get("heater_centre"):
        pins["heater_centre"] = sheet["heater_centre"][0]
    return pins


def _section(section: dict) -> dict:
    """A pin for each electrode: of electrodes that may change places, each has its own. A third grid has one where it
    is not joined to the cathode inside."""
    pin_of: dict[str, str] = {}
    for name, pins in section.items():
        if name in ("grid_3", "beam"):
            continue
        free = [pin for pin in pins if pin not in pin_of.values()]
        if name == "suppressor" and not free:
            continue
        pin_of[name] = (free or pins)[0]
    return pin_of


def book_types() -> list[str]:
    """Every type in the book by its own names, for completion."""
    rows = [row for group in ("valves", "rectifiers") for row in data()[group].values()]
    return sorted({name for row in rows for name in row["aka"]})
