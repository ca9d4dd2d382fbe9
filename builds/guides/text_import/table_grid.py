"""A table with merged cells as plain rows: every square a merged cell covers says what the cell says."""

from dataclasses import dataclass

WIDEST, LONGEST = 60, 1_000  # columns and rows of one table


@dataclass(frozen=True)
class Cell:
    text: str
    wide: int = 1
    high: int = 1


def rows_of_cells(rows: list[list[Cell]]) -> tuple[tuple[str, ...], ...]:
    """Rows without anything in them are left out."""
    grid: list[dict[int, str]] = [{} for _row in rows[:LONGEST]]
    for n, row in enumerate(rows[:LONGEST]):
        at = 0
        for cell in row:
            while at in grid[n]:
                at += 1
            for down in grid[n : n + max(1, min(cell.high, LONGEST))]:
                down |= {at + k: cell.text for k in range(max(1, min(cell.wide, WIDEST - at)))}
            at += max(1, cell.wide)
    wide = max((max(row, default=-1) + 1 for row in grid), default=0)
    plain = (tuple(row.get(n, "") for n in range(wide)) for row in grid)
    return tuple(row for row in plain if any(row))


def span(text) -> int:
    """A span as an attribute has it; 1 for what is none."""
    text = str(text or "")
    return int(text) if text.isascii() and text.isdigit() and 0 < len(text) < 4 else 1
