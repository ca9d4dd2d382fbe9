"""A parts list read again, beside the one a draft has: what is added, what is changed and what is gone."""

from dataclasses import dataclass

from builds.guides.parts_import.valve_book import valve_keys


@dataclass(frozen=True)
class FieldChange:
    key: str
    before: object
    after: object


@dataclass(frozen=True)
class PartChange:
    """`kind` is "added", "changed" or "gone"; `row` is the part as it would be (as it is, for one that is gone)."""

    kind: str
    ref: str
    row: dict
    fields: tuple[FieldChange, ...] = ()


def plan_merge(existing: list[dict], read: list[dict], *, remove_gone: bool = False) -> list[PartChange]:
    """Changes in the order of the list that was read; what a cell leaves out stays as it is."""
    old = {row["ref"]: row for row in existing}
    numbered = _numbered(old, read)
    changes = []
    for row in numbered:
        before = old.get(row["ref"])
        if before is None:
            changes.append(PartChange("added", row["ref"], row))
        elif fields := _changes(before, row):
            changes.append(PartChange("changed", row["ref"], merged(before, row), fields))
    missing = {row["ref"] for row in existing} - {row["ref"] for row in numbered}
    return changes + [PartChange("gone", ref, old[ref]) for ref in old if ref in missing and remove_gone]


def missing_from(existing: list[dict], read: list[dict]) -> list[str]:
    """References of the draft that the list does not have."""
    there = {row["ref"] for row in _numbered({row["ref"]: row for row in existing}, read)}
    return [row["ref"] for row in existing if row["ref"] not in there]


def _numbered(old: dict, read: list[dict]) -> list[dict]:
    """Hardware that was numbered here keeps the number it had, by its words."""
    by_words = {row.get("note"): ref for ref, row in old.items() if row["kind"] == "hardware" and row.get("note")}
    taken = {row["ref"] for row in read}
    rows = []
    for row in read:
        known = by_words.get(row.get("note")) if row["kind"] == "hardware" else None
        is_free = known and (known == row["ref"] or known not in taken)
        rows.append(row | {"ref": known} if is_free else row)
    return rows


def merged(before: dict, row: dict) -> dict:
    """The part with what the list says of it; pins from the book change with the type."""
    after = before | row
    if row.get("type") and row["type"] != before.get("type"):
        book = valve_keys(before.get("type", ""))
        if before.get("pins") and before["pins"] == book.get("pins"):
            after |= valve_keys(row["type"])
    return after


def _changes(before: dict, row: dict) -> tuple[FieldChange, ...]:
    after = merged(before, row)
    keys = [key for key in after if before.get(key) != after.get(key)]
    return tuple(FieldChange(key, before.get(key, ""), after[key]) for key in keys)


def apply_merge(existing: list[dict], changes: list[PartChange]) -> list[dict]:
    """The parts list after the changes: what was there keeps its place, what is new follows it."""
    by_ref = {change.ref: change for change in changes}
    remaining = [
        by_ref[row["ref"]].row if row["ref"] in by_ref else row
        for row in existing
        if not (row["ref"] in by_ref and by_ref[row["ref"]].kind == "gone")
    ]
    return remaining + [change.row for change in changes if change.kind == "added"]
