"""Whose a part is by its note: "Cathode V1a" belongs to that section, and to no stage of another valve."""

import re

from builds.guides.blocks.model import Role
from builds.guides.blocks.points_guess import free_section
from checks.circuit.netlist.terminals import VALVES


class Owners:
    """The valves of a block as its form comes to name them, and which parts are said to be another's."""

    def __init__(self, parts: list[dict], by_section: bool):
        self.parts, self.by_section = parts, by_section
        valves = sorted((row["ref"] for row in parts if row["kind"] in VALVES), key=len, reverse=True)
        names = "|".join(map(re.escape, valves)) or r"(?!)"
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
        said = [(row, self._said(row)) for row in rows]
        own = [row for row, names in said if any(map(self._is_own, names))]
        return own + [row for row, names in said if not names]

    def _said(self, row: dict) -> list[tuple[str, str]]:
        if row["kind"] in VALVES or "transformer" in row["kind"]:
            return []
        return [
            (match["ref"].upper(), (match["section"] or "").lower())
            for match in self.pattern.finditer(str(row.get("note", "")))
        ]

    def _is_own(self, name: tuple[str, str]) -> bool:
        ref, section = name
        return ref in self.named and (not section or not self.named[ref] or section == self.named[ref])
