"""Rows of a parts list that hold no part: headings, which may name a bag or the output stage, and sums."""

import re

_BAG = re.compile(r"(?:bag|beutel|tüte)\s*(?:no\.?|nr\.?|:)?\s*(\S{1,12})", re.IGNORECASE)

# Where a part belongs to the output stage: a heading above it, or its own note (English, German; common practice).
OUTPUT_STAGE = re.compile(
    r"output (?:valve|tube|stage|pair)|power (?:valve|tube|stage)|endröhre|endstufe", re.IGNORECASE
)
TOTAL = re.compile(
    r"(?:sub[ -]?|sous[ -]|grand )?total\b.*|sum\b.*|(?:zwischen|teil|end|gesamt)?summen?\b.*|"
    r"gesamt(?:zahl|menge|anzahl|preis)?\b.*|übertrag\b.*|carried (?:over|forward)\b.*", re.IGNORECASE,
)  # fmt: skip


def read_heading(row, cells: dict) -> str:
    """The bag that a row with one filled cell names; "-" for another heading; "" for a part's row."""
    filled = [cell for cell in row if cell]
    if filled and (TOTAL.fullmatch(filled[0]) or not cells.get("ref") and any(map(TOTAL.fullmatch, filled))):
        return "-"
    if len(filled) != 1 or len(row) == 1:
        return ""
    if match := _BAG.fullmatch(filled[0]):
        return match[1]
    is_words = not re.search(r"\d", filled[0]) or re.match(r"[^\W\d]{4,}\b", filled[0])
    return "-" if set(cells) <= {"ref", "note", "value"} and is_words else ""


def output_stage(row, before: str) -> str:
    """The heading that parts of the output stage lie under, until the next one or their sum."""
    heading = next(filter(None, row), "")
    if _BAG.fullmatch(heading):
        return before
    return heading[:60] if OUTPUT_STAGE.search(heading) else ""
