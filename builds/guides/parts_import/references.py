"""References of parts as lists write them: "R1–R4, R7" is five of them."""

import re

from checks.errors import ChecksError

MOST = 200  # of one range
_DASH = r"(?:\s*(?:-|–|—|‑|…|\.{2,3}|\bto\b|\bbis\b|\bà\b)\s*)"
_RANGE = re.compile(rf"([A-Za-z]{{1,4}})(\d{{1,4}}){_DASH}(?:([A-Za-z]{{1,4}}))?(\d{{1,4}})", re.IGNORECASE)
_ONE = re.compile(r"[A-Za-z][A-Za-z0-9_.]{0,19}")
_BETWEEN = re.compile(r"\s*(?:[,;&/+]|\band\b|\bund\b|\bu\.(?=\s)|\bet\b|\s)\s*", re.IGNORECASE)
_MARKS = re.compile(r"[*†‡§]+|(?<=\d)[¹²³]")  # of a footnote
NUMBERED = re.compile(r"([A-Za-z]{1,4})\d{1,4}[A-Za-z]?")


def expand(text: str) -> list[str]:
    """The references of one cell in its order. Raises ChecksError (codes "reference", "range", "empty")."""
    rest, refs = " ".join(_MARKS.sub(" ", text).split()), []
    if not rest:
        raise ChecksError("A reference is missing.", argument="ref", code="no-reference", typed="")
    while rest:
        if match := _RANGE.match(rest):
            refs += _range(match)
        elif match := _ONE.match(rest):
            refs.append(match[0].rstrip("."))
        else:
            raise ChecksError(f"“{rest[:20]}” is no reference.", argument="ref", code="reference", typed=rest[:20])
        rest = rest[match.end() :]
        if rest:
            gap = _BETWEEN.match(rest)
            if not gap or not gap.end():
                raise ChecksError(f"“{rest[:20]}” is no reference.", argument="ref", code="reference", typed=text[:30])
            rest = rest[gap.end() :]
    if len(refs) > 1 and (word := next((ref for ref in refs if not re.search(r"\d", ref)), "")):
        raise ChecksError(f"“{word}” is no reference.", argument="ref", code="reference", typed=text[:30])  # "R1 left"
    return refs


def _range(match) -> list[str]:
    prefix, first, other, last = match.groups()
    low, high = int(first), int(last)
    if (other and other.upper() != prefix.upper()) or not low < high <= low + MOST:
        raise ChecksError(f"“{match[0]}” is no range.", argument="ref", code="range", typed=match[0][:30])
    width = len(first) if first.startswith("0") else 0
    return [f"{prefix}{n:0{width}d}" for n in range(low, high + 1)]


def looks_like_references(text: str) -> bool:
    """Is a cell a list of numbered references, whatever they are of?"""
    try:
        return all(NUMBERED.fullmatch(ref) for ref in expand(text))
    except ChecksError:
        return False
