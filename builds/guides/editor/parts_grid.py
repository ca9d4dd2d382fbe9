"""The parts list as one grid: its cells from the rows of the guide, and back."""

import re

from builds.guides.editor.edits import one_edit
from builds.guides.editor.grid import GridRow, GridState, list_clashes, posted_rows
from builds.guides.editor.judging import changed_rows, judge_tables
from builds.guides.editor.renaming import rename_part
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file.apply import apply_tables
from builds.guides.guide_file.write import as_tables
from builds.guides.parts_import.merge import merged
from builds.guides.parts_import.messages import part_error
from builds.guides.parts_import.table import build_part
from builds.guides.parts_import.values import read_field
from builds.guides.parts_import.valve_book import valve_keys
from checks.circuit.netlist.terminals import VALVES
from checks.errors import ChecksError

COLUMNS = ("ref", "kind", "value", "tolerance", "power", "volts", "amps", "type", "base", "bag", "quantity", "note")
RATED = ("tolerance", "power", "volts", "amps")
# Which columns a kind makes use of; every kind has reference, kind, bag, quantity and note.
USES = {
    "resistor": ("value", "tolerance", "power"),
    "potentiometer": ("value", "tolerance", "power"),
    "capacitor": ("value", "tolerance", "volts"),
    "electrolytic": ("value", "tolerance", "volts"),
    "inductor": ("value", "tolerance", "amps"),
    "zener": ("value", "tolerance", "power", "type"),
    "fuse": ("value", "type"),
    "diode": ("type", "volts", "amps"),
    "bridge": ("type", "volts", "amps"),
    "lamp": ("volts", "amps", "power"),
}
USES |= dict.fromkeys(VALVES, ("type", "base"))
EVERY = ("ref", "kind", "bag", "quantity", "note")


def list_cells(row: dict) -> dict[str, str]:
    """The cells of one part as the guide file has it."""
    return {name: "" if name == "quantity" and row.get(name) == 1 else str(row.get(name, "")) for name in COLUMNS}


def uses(kind: str, column: str) -> bool:
    return column in EVERY or kind not in USES or column in USES[kind]


def build_row(cells: dict[str, str], before: dict | None, state: GridState, number: int) -> dict:
    """The part that cells say; what has no column (joins, windings, limits) stays as it was."""
    if before is None:
        row, wrong = build_part(cells["ref"], {k: v for k, v in cells.items() if v and k != "ref"})
        for key, message in wrong:
            state.refuse(number, key if key in COLUMNS else "ref", message)
        return row
    row = {k: v for k, v in before.items() if k not in COLUMNS}
    for name, cell in cells.items():
        if cell:
            row[name] = _typed(name, cell, before, state, number)
    return _with_book(row, before)


def _typed(name: str, cell: str, before: dict, state: GridState, number: int):
    """A cell as the guide keeps it: left alone where it was not changed."""
    if str(before.get(name, "")) == cell:
        return before[name]
    try:
        if name in RATED:
            return read_field(name, cell)
        if name == "quantity":
            return _quantity(cell)
    except ChecksError as error:
        state.refuse(number, name, part_error(error))
    return cell


def _quantity(cell: str) -> int:
    if not re.fullmatch(r"[0-9]{1,3}", cell) or int(cell) < 1:
        raise ChecksError("quantity", code="quantity", typed=cell)
    return int(cell)


def _with_book(row: dict, before: dict) -> dict:
    """A valve of another type takes its pins from the book, where those before came from there too."""
    if row["kind"] not in VALVES if "kind" in row else True:
        return row
    row = {k: v for k, v in merged(before, row).items() if k in row or k == "pins"}
    if not row.get("pins"):
        book = valve_keys(row.get("type", ""))
        row |= {k: v for k, v in book.items() if k in ("base", "pins") and not row.get(k)}
    return row


def save_grid(draft, person, post) -> tuple[GridState, list[GridRow]]:
    """Save a posted grid as one edit; where anything is wrong, nothing is saved."""
    rows, state = posted_rows(post, COLUMNS), GridState()
    try:
        with one_edit(draft, person, "parts-grid") as before:
            after = _after(draft, before, rows, state)
            if not state.is_good:
                raise _Refused
            apply_tables(draft, after)
    except _Refused:
        pass
    return state, rows


class _Refused(Exception):
    """Nothing is to be saved; why is in the state."""


def _after(draft, before: dict, rows: list[GridRow], state: GridState) -> dict:
    """The tables after a posted grid. Rows that nobody touched stay as they are by now."""
    now = {part["ref"]: part for part in before["part"]}
    changed: dict[str, dict | None] = {}
    added: list[dict] = []
    numbers: dict[str, int] = {}
    for row in rows:
        if not row.is_touched:
            continue
        current = now.get(row.was)
        if clashing := list_clashes(row, list_cells(current) if current else None):
            state.clashes[row.number] = clashing
            continue
        state.saved += 1
        if row.is_gone:
            changed[row.was] = None
            continue
        part = build_row(row.cells, current, state, row.number)
        numbers[part.get("ref", "")] = row.number
        if current is None:
            added.append(part)
        else:
            changed[row.was] = part
    return _judged(draft, before, changed, added, numbers, state)


def _judged(draft, before, changed, added, numbers, state) -> dict:
    parts = [changed.get(part["ref"], part) for part in before["part"]]
    after = before | {"part": [part for part in parts if part] + added}
    for old, part in changed.items():
        if part and part.get("ref") and part["ref"] != old:
            after = rename_part(after, old, part["ref"])
    if state.is_good:
        pictures = frozenset(load_guide(draft).pictures)
        verdict = judge_tables(before, after, pictures, changed_rows("part", before["part"], after["part"], "ref"))
        for problem in verdict.own:
            ref = after["part"][problem.place.index].get("ref", "")
            column = problem.place.key if problem.place.key in COLUMNS else "ref"
            state.refuse(numbers.get(ref, 0), column, problem.message)
        state.general += [f"{problem.label}: {problem.message}" for problem in verdict.dangers]
    return after


def grid_rows(draft) -> list[dict]:
    return as_tables(draft)["part"]
