"""The head of a parts list: found below titles, over two rows where cells are merged, with the units it names."""

import re

from checks.errors import ChecksError

_UNIT = r"%|m?A|k?V|m?W|[kM]?(?:Ω|ohms?)|[pnuµμm]?F|[mµμu]?H"
_OR = r"\s*(?:/|,|;|\||\bor\b|\band\b|\bbzw\.|\bund\b|\boder\b|\bou\b|\bet\b)\s*"
_UNITS = rf"(?:{_UNIT})(?:{_OR}(?:{_UNIT}))*"
_BEHIND = re.compile(
    rf"(?P<name>.*?)\s*(?:[\[(]\s*(?:in\s+)?(?P<a>{_UNITS})\s*[\])]|\bin\s+(?P<b>{_UNITS}))", re.IGNORECASE
)
_ALONE = re.compile(rf"[\[(]?\s*(?:in\s+)?(?:±|\+/?-)?\s*(?P<unit>{_UNITS})\s*[\])]?", re.IGNORECASE)
OF_UNIT = {"%": "tolerance", "V": "volts", "W": "power", "A": "amps"}
BETWEEN = "|"  # units of a column for parts of several kinds
# A cell of a column of units. What is counted (pieces, metres, sets) is not one.
_OF_CELL = re.compile(
    r"[pnuµμmkKMGR]|%|(?:[pnuµμmkKMG]|meg|kilo)?\s*(?:[FHVWAΩω]|ohms?|farad|henry|volts?|watts?)", re.I
)
_PIECES = re.compile(
    r"(?:st(?:ü|ue)?c?k|pcs?|pieces?|pi[eè]ces?|each|ea|off|x|paare?|pairs?|satz|sets?|meter|metres?|cm|mm|rolls?|"
    r"rollen?|-+|–|—)\.?", re.IGNORECASE,
)  # fmt: skip
_BARE = re.compile(r"\d+(?:[.,]\d+)?")
SEARCHED = 8  # rows: a head further down is none


def split_head(cell: str) -> tuple[str, str]:
    """("Wert", "kΩ") of "Wert [kOhm]", ("Wert", "Ω|µF") of "Wert (Ω bzw. µF)"; no unit where the head names none."""
    head = " ".join(cell.strip(" :*#").split())
    match = _BEHIND.fullmatch(head)
    if not match:
        return head, ""
    units = re.split(_OR, match["a"] or match["b"], flags=re.IGNORECASE)
    return match["name"].strip(" :*#,"), BETWEEN.join(re.sub(r"(?i)ohms?$", "Ω", unit) for unit in units)


def field_of_unit(unit: str) -> str:
    """What a column holds whose head says little but its unit."""
    return OF_UNIT.get(unit[-1:].upper(), "value" if unit else "")


def with_unit(cell: str, unit: str, wanted: str = "") -> str:
    """A bare number of a column whose head has the unit: "4,7" under "Wert [kOhm]" is 4,7 kΩ. Of several units it is
    the one of what is `wanted` of the part, such as F. Raises ChecksError where none is."""
    if not unit or unit == "%" or not _BARE.fullmatch(cell):
        return cell
    units = unit.split(BETWEEN)
    if len(units) == 1:
        return f"{cell} {unit}"
    fitting = [each for each in units if each[-1].upper() in wanted]
    if len(fitting) != 1:
        raise ChecksError("units", argument="value", code="which-unit", typed=cell, units=" · ".join(units))
    return f"{cell} {fitting[0]}"


def with_unit_cell(cell: str, unit: str) -> str:
    """A bare number with the unit that stands in a column of its own. Raises ChecksError for one that is not known."""
    unit = " ".join(unit.split())
    if not unit or not _BARE.fullmatch(cell) or _PIECES.fullmatch(unit):
        return cell
    if not _OF_CELL.fullmatch(unit):
        raise ChecksError("unit", argument="unit", code="unknown-unit", typed=unit[:20])
    return f"{cell} {unit}"


def is_unit(cell: str) -> bool:
    """Is a cell a unit or prefix and nothing else?"""
    return _OF_CELL.fullmatch(cell) is not None and cell != "%"


def is_no_tolerance(unit: str) -> bool:
    """Is it more than a letter that may say a tolerance (IEC 60062), as F, G and J do?"""
    return unit not in ("F", "G", "J")


def is_bare(cell: str) -> bool:
    return _BARE.fullmatch(cell) is not None


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
    """Is a row the second one of a head: names or units of columns, and nothing else but what is merged down from
    above? "Widerstände [kΩ]" under "Wert" is a heading of the parts below it."""
    own = [(cell, upper) for cell, upper in zip(row, head, strict=True) if cell and cell != upper]
    if len(own) == 1 and split_head(own[0][0])[1] and split_head(own[0][0])[0] and of_head(own[0][1]):
        return False
    return bool(own) and all(of_head(cell) or _ALONE.fullmatch(cell) for cell, _upper in own)


def _better(lower, upper, of_head) -> tuple[str, ...]:
    """Of each column the lower name, unless only the upper one says what it holds; "Wert" over "kΩ" is "Wert [kΩ]"."""
    return tuple(_better_name(own, above, of_head) for own, above in zip(lower, upper, strict=True))


def _better_name(own: str, above: str, of_head) -> str:
    if own != above and (unit := _ALONE.fullmatch(own)):
        return f"{above} [{unit['unit']}]".strip()
    return above if above and not own or of_head(above) and not of_head(own) else own
