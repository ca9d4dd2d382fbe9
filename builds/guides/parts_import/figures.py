"""Figures as spreadsheets and people spoil them: words for prefixes, thousands, dates and errors."""

import re

from checks.errors import ChecksError

_PREFIXES = {
    "pico": "p",
    "nano": "n",
    "micro": "µ",
    "mikro": "µ",
    "milli": "m",
    "kilo": "k",
    "kil": "k",
    "mega": "M",
    "meg": "M",
}
_UNITS = {"farad": "F", "ohm": "Ω", "henry": "H", "henri": "H", "hy": "H", "volt": "V", "watt": "W", "amp": "A"}
_SPELLED = re.compile(
    r"(?<=\d)\s*(?P<prefix>pico|nano|micro|mikro|milli|kilo|kil(?=ohm)|mega|meg)?[ -]?"
    r"(?P<unit>farad|ohm|henry|henri(?=es)|hy|volt|watt|amp)?(?:e?s|eres?)?\b",
    re.IGNORECASE,
)
# "1,000" and "1.000" are one thing or a thousand by the country they were written in; "0,022" is a decimal anywhere.
TWO_WAYS = re.compile(r"(?<![\d.,])[1-9]\d{0,2}(?:[.,]\d{3})+(?![\d])")
_VULGAR = re.compile(r"(?:(?<![\d.,])(\d{1,2}))?([½¼¾⅛])")
_PARTS = {"½": 0.5, "¼": 0.25, "¾": 0.75, "⅛": 0.125}
_SWISS = re.compile(r"(?<=\d)['’](?=\d{3}(?!\d))")
_MONTH = r"(?:jan|feb|m[aä]r|apr|ma[iy]|jun|jul|aug|sep|o[ck]t|nov|de[cz])[a-zé]*\.?"
_DATES = re.compile(
    rf"\d{{4}}-\d\d-\d\d(?:[ T][\d:.]+)?|\d{{1,2}}[./-]\d{{1,2}}[./-](?:\d{{2}}|\d{{4}})"
    rf"|\d{{1,2}}:\d{{2}}(?::\d{{2}})?|\d{{1,2}}[-. /]+{_MONTH}(?:[-. /]+\d{{2,4}})?|{_MONTH}[-. /]+\d{{1,4}}",
    re.IGNORECASE,
)
_ERRORS = re.compile(r"#(?:REF|N/?A|VALUE|NAME|DIV/0|NUM|NULL|WERT|BEZUG|NV|ZAHL)[!?]?|Err:\d+", re.IGNORECASE)


def plain_figures(text: str) -> str:
    """A cell with its figures in one spelling. Raises ChecksError where a number can be read in two ways."""
    text = " ".join(text.replace("−", "-").replace("\u00a0", " ").replace("\u202f", " ").split())
    text = _VULGAR.sub(_decimal, _SWISS.sub("", text))
    if match := TWO_WAYS.search(text):
        raise ChecksError("two ways", argument="value", code="two-ways", typed=match[0])
    text = re.sub(r"(?<![\w.,])\.(?=\d)", "0.", text)
    return _SPELLED.sub(_short, text).strip()


def _decimal(match) -> str:
    """ "½" is 0.5, and "1½" is 1.5; "100 ½ W" is two figures."""
    return f" {int(match[1] or 0) + _PARTS[match[2]]:g}"


def _short(match) -> str:
    prefix, unit = (match["prefix"] or "").lower(), (match["unit"] or "").lower()
    if not prefix and unit in ("", "volt", "watt", "amp"):
        return match[0]
    return f" {_PREFIXES.get(prefix, '')}{_UNITS.get(unit, '')}"


def unsolved(written) -> str:
    """A formula as it stands in a cell without a result; "" for anything else."""
    text = str(getattr(written, "text", written))  # an array formula is an object that holds its text
    return f"={text.strip().removeprefix('=')}" if text.strip().startswith("=") else ""


def refuse_spoiled(cells: dict[str, str]) -> None:
    """Raises ChecksError for the first cell that a spreadsheet has made into a date, or that it could not compute or
    never did."""
    for name, cell in cells.items():
        if _ERRORS.fullmatch(cell) or cell.startswith("="):
            raise ChecksError("spreadsheet error", argument=name, code="cell-error", typed=cell)
        if name != "note" and _DATES.fullmatch(cell):
            raise ChecksError("a date", argument=name, code="cell-date", typed=cell[:20])
