"""What the book of valves fills in for a type, with a model or without: its kind, base and pins."""

import re

from checks.circuit.valves.pinouts import find_pinout, is_shared_bulb, other_pinouts, shared_bulbs
from checks.circuit.valves.types import data, find_type

# Types with a triode and a pentode in one bulb (makers' data sheets, from memory).
_TRIODE_PENTODES = re.compile(
    r"[EPU]CL8[0-6]|LCL8[0-6]|[EP]CF8[0-2]|6BM8|6GW8|6GV8|6DX8|6AB8|6BL8|6U8A?|6AN8A?|7199|6GH8A?|6F3P|6F1P",
    re.IGNORECASE,
)


def holds_two_kinds(type_: str) -> bool:
    """Are there a triode and a pentode in this valve?"""
    return any(_TRIODE_PENTODES.fullmatch(word) for word in re.split(r"[\s,;/()]+", type_))


def system_named(text: str) -> str:
    """Which of the two a row is about, by its words: "ECL82 Triode" and "Pentodensystem"; "" where they leave it
    open."""
    named = [
        kind for kind in ("triode", "pentode") if re.search(rf"\b{kind}|{kind}n?(?:system|teil)", text, re.IGNORECASE)
    ]
    return named[0] if len(named) == 1 else ""


def system_keys(type_: str, kind: str) -> dict:
    """{"base", "pins"} of one system of a bulb that holds two. The heater is listed once, with the pentode."""
    row = shared_bulbs().get(type_.strip().upper().replace("-", ""))
    if row is None or kind not in row:
        return {}
    return {"base": row["base"], "pins": row[kind] | ({"heater": row["heater"]} if kind == "pentode" else {})}


def valve_keys(type_: str) -> dict:
    """{"kind", "base", "pins"} of the guide file, as far as the book knows them; empty for an unknown type."""
    if is_shared_bulb(type_):
        return {}  # which of the two systems is meant, the type alone does not say
    row, sheet = find_type(type_), find_pinout(type_)
    kind = _kind(row, sheet) if row else sheet["kind"] if sheet else ""
    if not kind:
        return {}
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
    return sorted({name for row in rows for name in row["aka"]} | {*other_pinouts()})
