"""Rows of the parts list as the schematic takes them: what joins what, and the words beside each symbol."""

import re

from builds.guides.wiring.ends import list_ends
from builds.ui.part_values import written_value
from checks.schematic import Component

_LONGEST = 14
_MICRO = re.compile(r"(?<=\d)u")


def list_components(rows: list[dict]) -> list[Component]:
    return [_component(row) for row in rows]


def _component(row: dict) -> Component:
    ends = list_ends(row)
    return Component(
        row["ref"],
        row.get("kind", ""),
        {end.terminal: end.point for end in ends},
        {end.terminal: end.pin for end in ends if end.pin},
        _windings(row),
        tuple(_short(caption) for caption in _captions(row) if caption),
        _form(row),
    )


def _windings(row: dict) -> tuple:
    return tuple(
        (
            str(winding.get("name") or n),
            tuple(f"{winding.get('name') or n}.{k}" for k, _point in enumerate(winding.get("joins", []), 1)),
            _short(str(winding.get("volts") or winding.get("impedance") or "")),
        )
        for n, winding in enumerate(row.get("winding") or [], 1)
    )


def _captions(row: dict) -> list[str]:
    value, type_ = written_value(row.get("kind", ""), str(row.get("value") or "")), str(row.get("type") or "")
    rating = str(row.get("volts") or "") if row.get("kind") in ("capacitor", "electrolytic") else ""
    return [type_, _MICRO.sub("µ", value), rating][:3] if not (type_ and value) else [type_, _MICRO.sub("µ", value)]


def _short(caption: str) -> str:
    return caption if len(caption) <= _LONGEST else caption[: _LONGEST - 1] + "…"


def _form(row: dict) -> str:
    text = f"{row.get('note', '')} {row.get('type', '')}".lower()
    if row.get("kind") == "diode" and re.search(r"\bled\b|light.emitting", text):
        return "led"
    if row.get("kind") == "connector" and re.search(r"speaker|lautspr", text):
        return "speaker"
    return ""
