"""The head of a parts list: found below titles, over two rows where cells are merged, with the units it names."""

import re

_UNIT = r"%|m?A|k?V|m?W|[kM]?(?:Ω|ohms?)|[pnuµμm]?F|[mµμu]?H"
_BEHIND = re.compile(rf"(?P<name>.*?)\s*(?:[\[(]\s*(?P<a>{_UNIT})\s*[\])]|\bin\s+(?P<b>{_UNIT}))", re.IGNORECASE)
OF_UNIT = {"%": "tolerance", "V": "volts", "W": "power", "A": "amps"}
SEARCHED = 8  # rows: a head further down is none


def split_head(cell: str) -> tuple[str, str]:
    """("Wert", "kΩ") of "Wert [kOhm]"; no unit where the head names none."""
    head = " ".join(cell.strip(" :*#").split())
    match = _BEHIND.fullmatch(head)
    if not match:
        return head, ""
    unit = re.sub(r"(?i)ohms?$", "Ω", match["a"] or match["b"])
    return match["name"].strip(" :*#,"), unit


def field_of_unit(unit: str) -> str:
    """What a column holds whose head says little but its unit."""
    return OF_UNIT.get(unit[-1:].upper(), "value" if unit else "")


def with_unit(cell: str, unit: str) -> str:
    """A bare number of a column whose head has the unit: "4,7" under "Wert [kOhm]" is 4,7 kΩ."""
    is_bare = re.fullmatch(r"\d+(?:[.,]\d+)?", cell)
    return f"{cell} {unit}" if unit and unit != "%" and is_bare else cell


def from_head(rows, of_head, looks_like_data):
    """The rows from the head on. Titles above it go; where it takes two rows, each column has the better name."""
    counts = [len({of_head(cell) for cell in row} - {""}) for row in rows[:SEARCHED]]
    best = max(range(len(counts)), key=lambda n: (counts[n], -n), default=0)
    if not counts or counts[best] < 2 or any(map(looks_like_data, rows[:best])):
        return rows
    head, below = rows[best], rows[best + 1 :]
    if below and _goes_on(head, below[0], of_head) and not looks_like_data(below[0]):
        return (_better(below[0], head, of_head), *below[1:])
    if best and counts[best - 1]:
        head = _better(head, rows[best - 1], of_head)
    return (head, *below) if best else rows


def _goes_on(head, row, of_head) -> bool:
    """Is a row the second one of a head: names of columns, and nothing else but what is merged down from above?"""
    own = [cell for cell, upper in zip(row, head, strict=True) if cell and cell != upper]
    return bool(own) and all(map(of_head, own))


def _better(lower, upper, of_head) -> tuple[str, ...]:
    """Of each column the lower name, unless only the upper one says what it holds."""
    return tuple(
        above if above and not own or of_head(above) and not of_head(own) else own
        for own, above in zip(lower, upper, strict=True)
    )
