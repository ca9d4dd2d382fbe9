"""Whose a part is by its note: "Cathode V1a" belongs to that section, and to no stage of another valve. "Cathode EL84"
belongs to the valves of that type."""

import re

from builds.guides.blocks.model import Role
from builds.guides.blocks.points_guess import free_section
from checks.circuit.netlist.terminals import VALVES

LEADING_OUT = ("couple", "ca", "cb")


class Owners:
    """The valves of a block as its form comes to name them, and which parts are said to be another's."""

    def __init__(self, parts: list[dict], by_section: bool):
        self.parts, self.by_section = parts, by_section
        valves = [row for row in parts if row["kind"] in VALVES]
        self.of_type: dict[str, list[str]] = {}  # type as letters and digits -> references in capitals
        for row in valves:
            self.of_type.setdefault(_plain(row.get("type", "")), []).append(row["ref"].upper())
        self.of_type.pop("", None)
        self.refs = {row["ref"].upper() for row in valves}
        refs = [re.escape(row["ref"]) for row in valves]
        names = "|".join(sorted([*refs, *map(_as_written, self.of_type)], key=len, reverse=True)) or r"(?!)"
        self.pattern = re.compile(rf"(?<!\w)(?P<ref>{names})[ .-]?(?P<section>[ab])?(?!\w)", re.IGNORECASE)
        self.named: dict[str, str] = {}  # valve in capitals -> its section, "" where both or the only one count

    def take(self, ref: str) -> None:
        row = next(row for row in self.parts if row["ref"] == ref)
        is_half = self.by_section and row["kind"] == "twin triode"
        self.named[ref.upper()] = (free_section(self.parts, ref) or "a") if is_half else ""

    def left(self, role: Role, rows: list[dict]) -> list[dict]:
        """Without what a note gives to another valve; where a note names this one, before the others."""
        if role.kinds[0] in VALVES or not self.named:
            return rows
        rows_with_names = [(row, self._said(row, role.name in LEADING_OUT)) for row in rows]
        own = [row for row, names in rows_with_names if any(map(self._is_own, names))]
        return own + [row for row, names in rows_with_names if not names]

    def _said(self, row: dict, leads_out: bool) -> list[tuple[str, str]]:
        """The sections that a note names. A coupling capacitor "to the EL84" belongs to the stage that drives it."""
        if row["kind"] in VALVES or "transformer" in row["kind"]:
            return []
        sections: list[tuple[str, str]] = []
        for match in self.pattern.finditer(str(row.get("note", ""))):
            of_type = () if leads_out else self.of_type.get(_plain(match["ref"]), ())
            refs = [match["ref"].upper()] if match["ref"].upper() in self.refs else of_type
            sections += [(ref, (match["section"] or "").lower()) for ref in refs]
        return sections

    def _is_own(self, name: tuple[str, str]) -> bool:
        ref, section = name
        return ref in self.named and (not section or not self.named[ref] or section == self.named[ref])


def _plain(name: str) -> str:
    return re.sub(r"[^A-Z0-9]", "", name.upper())


def _as_written(name: str) -> str:
    """EL84 is written EL 84 and EL-84 as well."""
    return "[ /-]?".join(map(re.escape, re.findall(r"[A-Z]+|[0-9]+", name)))
