"""References of parts as lists write them: "R1–R4, R7" is five of them."""

import re

from builds.guides.parts_import.letters import LETTERS
from checks.errors import ChecksError

MOST = 200  # of one range
MOST_BETWEEN = 20  # of two numbers after one letter: "R1, 470" is a value, not a second reference
_DASH = r"(?:\s*(?:-|–|—|‑|…|\.{2,3}|~|→|:|\bto\b|\bthru\b|\bthrough\b|\bbis\b|\bà\b)\s*)"
_L = "[A-Za-zÄÖÜäöü]"  # "Rö1" is a valve and "AÜ1" an output transformer of a German list
_RANGE = re.compile(rf"({_L}{{1,4}})(\d{{1,4}}){_DASH}(?:({_L}{{1,4}}))?(\d{{1,4}})", re.IGNORECASE)
_ONE = re.compile(rf"{_L}(?:{_L}|[0-9_.]){{0,19}}")
_LETTERS = re.compile(rf"({_L}{{1,4}}\d{{1,4}})\s*\(?([A-Za-z]){_DASH}([A-Za-z])\)?(?![A-Za-z0-9])", re.IGNORECASE)
_BARE = re.compile(r"(?P<number>\d{1,4})(?P<letter>[A-Za-z]?)(?![A-Za-z0-9])|(?P<alone>[A-Za-z])(?![A-Za-z0-9])")
_LAST = re.compile(rf"({_L}{{1,4}})(\d{{1,4}})([A-Za-z]?)")
_BETWEEN = re.compile(r"\s*(?:[,;&/+|\\]|\band\b|\bund\b|\bu\.(?=\s)|\bet\b|\s)\s*", re.IGNORECASE)
_MARKS = re.compile(r"[*†‡§]+|(?<=\d)[¹²³]")  # of a footnote
_APART = re.compile(rf"(?<!{_L})({_L}{{1,3}})\s+(?=\d{{1,3}}\b)")
NUMBERED = re.compile(rf"({_L}{{1,4}})\d{{1,4}}[A-Za-z]?")


def expand(text: str) -> list[str]:
    """The references of one cell in its order. Raises ChecksError (codes "reference", "range", "empty")."""
    rest, refs, is_list = _in_one_spelling(text), [], False
    if not rest:
        raise ChecksError("A reference is missing.", argument="ref", code="no-reference", typed="")
    while rest:
        if match := _RANGE.match(rest):
            refs += _range(match)
        elif match := _LETTERS.match(rest):
            refs += _letters(match)
        elif is_list and (match := _BARE.match(rest)) and (ref := _goes_on(refs, match)):
            refs.append(ref)
        elif match := _ONE.match(rest):
            refs.append(match[0].rstrip("."))
        else:
            raise ChecksError(f"“{rest[:20]}” is no reference.", argument="ref", code="reference", typed=rest[:20])
        rest = rest[match.end() :]
        if rest:
            gap = _BETWEEN.match(rest)
            if not gap or not gap.end():
                raise ChecksError(f"“{rest[:20]}” is no reference.", argument="ref", code="reference", typed=text[:30])
            rest, is_list = rest[gap.end() :], bool(gap[0].strip())
    if len(refs) > 1 and (word := next((ref for ref in refs if not re.search(r"\d", ref)), "")):
        raise ChecksError(f"“{word}” is no reference.", argument="ref", code="reference", typed=text[:30])  # "R1 left"
    return [_capital(ref) for ref in refs]


def _in_one_spelling(text: str) -> str:
    """Without marks of footnotes; "R 1" is R1."""
    plain = " ".join(_MARKS.sub(" ", text).split())
    return _APART.sub(lambda match: match[1] if match[1].upper() in LETTERS else match[0], plain)


def _capital(ref: str) -> str:
    """ "r1" is R1, as the drawing has it; "Tr1" and "V1a" stay."""
    match = re.match(r"[^\W\d_]+(?=\d)", ref)
    return ref[: match.end()].upper() + ref[match.end() :] if match and match[0].islower() else ref


def _range(match) -> list[str]:
    prefix, first, other, last = match.groups()
    low, high = int(first), int(last)
    if (other and other.upper() != prefix.upper()) or not low < high <= low + MOST:
        raise ChecksError(f"“{match[0]}” is no range.", argument="ref", code="range", typed=match[0][:30])
    width = len(first) if first.startswith("0") else 0
    return [f"{prefix}{n:0{width}d}" for n in range(low, high + 1)]


def _letters(match) -> list[str]:
    """ "C3A-B": the sections of one can, or of one valve."""
    ref, first, last = match.groups()
    if first.isupper() != last.isupper() or not first < last:
        raise ChecksError(f"“{match[0]}” is no range.", argument="ref", code="range", typed=match[0][:30])
    return [f"{ref}{chr(n)}" for n in range(ord(first), ord(last) + 1)]


def _goes_on(refs: list[str], match) -> str:
    """ "R3, 4, 5" and "V1a, b": the letters, or the number too, are those of the reference before."""
    last = _LAST.fullmatch(refs[-1])
    if not last or (match["alone"] and not last[3]):
        return ""
    if match["alone"]:
        return f"{last[1]}{last[2]}{match['alone']}"
    is_next = int(last[2]) < int(match["number"]) <= int(last[2]) + MOST_BETWEEN
    return f"{last[1]}{match['number']}{match['letter']}" if is_next else ""


def looks_like_references(text: str) -> bool:
    """Is a cell a list of numbered references, whatever they are of?"""
    try:
        return all(NUMBERED.fullmatch(ref) for ref in expand(text))
    except ChecksError:
        return False
