"""Several parts in one can or one bulb: "C1/C2 2×47µ" is 47µ each, and V1a and V1b are the sections of one valve V1."""

import re

from checks.errors import ChecksError

_TIMES = re.compile(r"\s*(\d{1,2})\s*[x×*]\s*(?=\d)", re.IGNORECASE)
_SUM = re.compile(r"\s*(\d+(?:[.,]\d+)?)(?:\s*\+\s*\1)+(?![\d.,])")
_SPLIT = re.compile(r"(?:R|C|D|L|P|RV|VR)\d+[A-Za-z]?", re.IGNORECASE)  # of what one body may hold several
_SECTION = re.compile(r"(V\d{1,3})[-_.]?([ABab])")


def of_one(value: str, refs: list[str]) -> str:
    """What each of the references has. Raises ChecksError where there is not one for each."""
    if not all(map(_SPLIT.fullmatch, refs)):
        return value
    if match := _TIMES.match(value):
        count, each = int(match[1]), value[match.end() :]
    elif match := _SUM.match(value):
        count, each = match[0].count("+") + 1, match[1] + value[match.end() :]
    else:
        return value
    if count > 1 and count != len(refs):
        raise ChecksError(
            "several", argument="value", code="several-in-one", typed=match[0].strip(), count=count, ref=refs[0]
        )
    return each


def join_sections(parts: list[dict]) -> tuple[list[dict], list[tuple[str, str]]]:
    """(the parts with each twin valve once, [(reference, other)] of sections whose types differ)."""
    taken = {part["ref"].upper() for part in parts}
    joined: dict[str, dict] = {}
    rest, differing = [], []
    for part in parts:
        match = _SECTION.fullmatch(part["ref"]) if part["kind"] == "twin triode" else None
        name = match[1] if match else ""
        if not match or name.upper() in taken or not _has_other(part["ref"], taken):
            rest.append(part)
        elif (first := joined.get(name)) is None:
            joined[name] = part | {"ref": name}
            rest.append(joined[name])
        elif first.get("type") != part.get("type"):
            differing.append((part["ref"], name))
        elif part.get("note") and part["note"] != first.get("note"):
            first["note"] = "; ".join(filter(None, (first.get("note"), part["note"])))[:300]
    return rest, differing


def _has_other(ref: str, taken: set[str]) -> bool:
    """Is the other section in the list too? Alone, V1a is what its designer calls the valve."""
    other = {"A": "B", "B": "A"}[ref[-1].upper()]
    return f"{ref[:-1]}{other}".upper() in taken
