"""How many parts a row is for, where its references say so: "R1, R2 (2x)" and "2 × R5"."""

import re

from checks.errors import ChecksError

_PIECES = r"(?:x|×|\*|st(?:ü|ue)?c?k\.?|pcs?\.?|pieces?|off|ea\.?)"
_BEHIND = re.compile(rf"(?P<refs>.+?)\s*[(\[]\s*(?:{_PIECES}\s*)?(?P<n>\d{{1,3}})\s*{_PIECES}?\s*[)\]]", re.IGNORECASE)
_LAST = re.compile(r"(?P<refs>.*\d[A-Za-z]?)\s+(?:(?P<n>\d{1,3})\s*[x×]|[x×]\s*(?P<m>\d{1,3}))", re.IGNORECASE)
_BEFORE = re.compile(rf"(?P<n>\d{{1,3}})\s*{_PIECES}\s*(?P<refs>[^\W\d_].*)", re.IGNORECASE)


def count_in(cells: dict[str, str]) -> dict[str, str]:
    """The references without the count beside them, and the count as the quantity. Raises ChecksError where the row
    has another quantity of its own."""
    ref = " ".join(cells.get("ref", "").split())
    match = _BEHIND.fullmatch(ref) or _LAST.fullmatch(ref) or _BEFORE.fullmatch(ref)
    if not match:
        return {}
    count = match["n"] or match.groupdict().get("m") or ""
    own = cells.get("quantity", "")
    if own and re.sub(r"\D", "", own) != count:
        raise ChecksError("twice", argument="quantity", code="quantity-twice", one=count, other=own[:20])
    return {"ref": match["refs"].strip(), "quantity": count}


def refuse_other_count(refs: list[str], quantity: str) -> None:
    """Raises ChecksError for two references and a quantity of four: neither four of each nor two of them is sure."""
    if len(refs) > 1 and quantity.isascii() and quantity.isdigit() and int(quantity) not in (1, len(refs)):
        raise ChecksError(
            "count", argument="quantity", code="quantity-of-several", count=len(refs), quantity=int(quantity)
        )
