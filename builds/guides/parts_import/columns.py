"""What the columns of a parts list hold, guessed from their heads and their cells; the designer confirms."""

import re

from django.utils.translation import gettext_lazy as _

from builds.guides.parts_import.heads import field_of_unit, from_head, is_bare, is_no_tolerance, is_unit, split_head
from builds.guides.parts_import.kinds import named_kind, names_kind
from builds.guides.parts_import.references import looks_like_references
from builds.guides.parts_import.values import FIELD_UNITS
from builds.guides.parts_import.valve_book import valve_keys

# What a column may hold, with its label.
FIELDS = {
    "": _("not used"),
    "ref": _("Reference"),
    "value": _("Value (with ratings)"),
    "unit": _("Unit of the value"),
    "kind": _("Kind"),
    "tolerance": _("Tolerance"),
    "volts": _("Rated voltage"),
    "power": _("Rated power"),
    "amps": _("Rated current"),
    "type": _("Type"),
    "base": _("Valve base"),
    "bag": _("Bag"),
    "quantity": _("Quantity"),
    "note": _("Note"),
    "from": _("From (first point)"),
    "to": _("To (second point)"),
}
# Heads in English, German and French, without case; the first field that fits is taken.
HEADS = (
    ("ref", r"ref(?:s? ?(?:l|r|left|right|\d)|s|erences?|\.| ?des(?:ignators?)?)?|designators?|part ?ref\w*|"
        r"pos(?:ition)?\.?|bauteile?|id|n[or]|"
        r"rep(?:ère)?\.?|réf\w*\.?|kurzz\w*\.?|kennz\w*\.?|ref(?:'|’)s|"
        r"left|right|links|rechts|gauche|droite|(?:left|right) channel|channel [12AB]"),
    ("tolerance", r"tol(?:erance|érance|eranz|\.)?(?: ?\(?%\)?| in %)?"),
    ("volts", r"(?:rated |max\.? ?|nenn|betriebs|prüf)?(?:voltage|volts|spannung(?:s(?:festigkeit|angabe))?|"
        r"sp(?:g|anng)\.?[ -]?(?:fest(?:igk)?\.?)?|tension)"
        r"(?: rating)?(?: ?\[?\(?V\)?\]?)?|V ?rating|V"),
    ("power", r"(?:rated |nenn|verlust|be)?(?:power|watts?|wattage|leistung|lastbark(?:eit|\.)|"
        r"lastb?\.?|puissance|dissipation)"
        r"(?: rating)?(?: ?\[?\(?W\)?\]?)?|W"),
    ("amps", r"(?:rated |nenn)?(?:current|amps|strom(?:stärke)?|courant)(?: rating)?(?: ?\[?\(?m?A\)?\]?)?|A"),
    ("quantity", r"q(?:uanti)?ty\.?|quantit(?:y|ies)|count|pcs\.?|pieces|anzahl|menge|stück(?:zahl)?|stc?k\.?|each|"
        r"quantités?|qté\.?|nombre"),
    ("unit", r"units?(?: of (?:the )?value)?|(?:mass)?einh(?:eit(?:en)?|\.)?|maßeinheit|unités?|uom|dim(?:ension|\.)?"),
    ("bag", r"bag(?: no\.?)?|beutel|tüte|pack(?:et)?|box|sachet"),
    ("kind", r"kind|category|class|component|art|kategorie|part kind"),
    ("base", r"base|socket|sockel"),
    ("type", r"type(?: no\.?)?|part ?(?:no\.?|number)|model|device|typ"),
    ("from", r"from|node ?1|net ?1|point ?1|pin ?1|von"),
    ("to", r"to|node ?2|net ?2|point ?2|pin ?2|nach"),
    ("value", r"val(?:ue|eur)?s?|(?:nenn)?werte?|rating|value ?/ ?rating|spec\w*|part"),
    ("note", r"notes?|comments?|remarks?|desc\w*|details?|bemerkung(?:en)?|bem\.|anm(?:erkung(?:en)?)?\.?|"
        r"hinweis\w*|be(?:schr|z)ei\w+|"
        r"désignation|remarques?|commentaires?|use|purpose|function|verwendung|funktion|zweck"),
)  # fmt: skip
SEVERAL = ("ref", "value", "note")
MOST_WORDS = 3  # cells of words that make a first row a head
SOME = 0.3  # of the rows, that must show a value for a column without a head to be the values
SURE = 0.6  # of the filled cells, that must look like references for their column to hold them


def guess(rows) -> tuple[list[str], bool]:
    """(what each column holds, whether the first row is its head)."""
    if not rows:
        return [], False
    heads = [_of_head(cell) for cell in rows[0]]
    is_head = sum(map(bool, heads)) >= 1 or _is_of_words(rows[0])
    is_heading = len(rows[0]) > 1 and sum(map(bool, rows[0])) == 1  # "Widerstände [kΩ]", of the parts below it
    has_head = not looks_like_references(rows[0][_ref_column(rows)]) and is_head and not is_heading
    body = rows[1:] if has_head else rows
    fields = _once(_one_reference(heads, body)) if has_head else ["" for _cell in rows[0]]
    if "ref" not in fields:
        fields[_ref_column(rows)] = "ref"
    for n, field in enumerate(fields):
        if not field:
            fields[n] = _of_cells([row[n] for row in body if row[n]], fields)
    _name_units(fields, body)
    if "value" not in fields and "type" not in fields:
        _take_value(fields, body)
    return fields, has_head


def _name_units(fields: list[str], body) -> None:
    """A column without a head beside bare numbers holds their units ("4,7" and "kΩ" under one head over both): left
    out, kilohms would be ohms."""
    for n in range(1, len(fields)):
        beside = [(row[n - 1], row[n]) for row in body if row[n]]
        units = [unit for _number, unit in beside]
        numbers = sum(is_bare(number) for number, _unit in beside)
        if (
            not fields[n] and "unit" not in fields and fields[n - 1] in ("", "value")
            and units and all(map(is_unit, units)) and any(map(is_no_tolerance, units)) and numbers >= SURE * len(units)
        ):  # fmt: skip
            fields[n - 1 : n + 1] = ["value", "unit"]


def _is_of_words(row) -> bool:
    """A row that names columns in words that nobody foresaw: no figure anywhere."""
    return sum(map(bool, row)) >= MOST_WORDS and not any(re.search(r"\d", cell) for cell in row)


def _take_value(fields: list[str], body) -> None:
    """Of the columns left over the one with most values or valve types, where words stand among them."""
    counts = {n: sum(_has_value(row[n]) for row in body) for n, field in enumerate(fields) if not field}
    best = max(counts, key=lambda n: counts[n], default=None)
    if best is not None and counts[best] >= SOME * len(body):
        fields[best] = "value"


def _has_value(cell: str) -> bool:
    tokens = re.split(r"[\s,;/()]+", cell)
    return any(
        not word.isdigit() and valve_keys(word) or re.match(r"\d+(?:[.,]\d+)?[pnuµμmkKMR]\d*", word) for word in tokens
    )


def _of_head(cell: str) -> str:
    name, unit = split_head(cell)
    return _named(name) or _of_two_names(name) or field_of_unit(unit)


def _named(name: str) -> str:
    return next((field for field, pattern in HEADS if re.fullmatch(pattern, name, re.IGNORECASE)), "")


def _of_two_names(name: str) -> str:
    """ "Bauteil / Wert": a value where one of the names says so, else what the last known one says."""
    names = [_named(part.strip()) for part in re.split(r"\s*[/,+&]\s*|\s+(?:und|and|et|or|oder|bzw\.)\s+", name)]
    named = [field for field in names if field] if len(names) > 1 else []
    first = next((field for field in ("value", "power") if field in named), "")  # a resistor's bare number is watts
    return first or (named[-1] if named else "")


def below_titles(rows):
    """The rows of a sheet from its head on."""
    return from_head(rows, _of_head, lambda row: any(map(looks_like_references, row)))


def _one_reference(heads: list[str], body) -> list[str]:
    """Of several columns that may be the references ("Pos", "Bauteil") those that hold them."""
    counts = {
        n: sum(looks_like_references(row[n]) for row in body if row[n]) for n, f in enumerate(heads) if f == "ref"
    }
    best = max(counts, key=lambda n: counts[n], default=None)
    holding = {n for n, times in counts.items() if times and times >= SURE * sum(bool(row[n]) for row in body)}
    return ["" if field == "ref" and n not in {best, *holding} else field for n, field in enumerate(heads)]


def _once(heads: list[str]) -> list[str]:
    """Each field for the first column only that claims it; values and notes may lie in several."""
    return [field if field in SEVERAL or field not in heads[:n] else "" for n, field in enumerate(heads)]


def _ref_column(rows) -> int:
    """The column with most cells that look like references."""
    width = len(rows[0])
    return max(range(width), key=lambda n: sum(looks_like_references(row[n]) for row in rows if row[n]))


def _of_cells(cells: list[str], taken: list[str]) -> str:
    """What a column without a known head holds, by its cells."""
    tests = (
        ("type", lambda cell: bool(valve_keys(cell))),
        ("tolerance", lambda cell: bool(re.fullmatch(r"±?\s*\d+(?:[.,]\d+)?\s*%", cell))),
        ("kind", lambda cell: bool(named_kind(cell) or names_kind(cell))),
        *((field, _is_one_figure(unit)) for field, unit in FIELD_UNITS.items()),
        ("value", lambda cell: bool(re.match(r"±?\d|R\d", cell)) and not cell.isdigit()),
        ("note", lambda cell: bool(re.search(r"[A-Za-z]{3}", cell))),
    )
    for field, fits in tests:
        if field not in taken and cells and sum(map(fits, cells)) >= SURE * len(cells):
            return field
    return ""


def _is_one_figure(unit: str):
    """Is a cell one figure of this unit and nothing else, such as "0,5 W"?"""
    figure = re.compile(rf"\d+(?:[.,]\d+)?(?:\s*/\s*\d)?\s*[mk]?{unit}(?:att|olt|mp)?s?", re.IGNORECASE)
    return lambda cell: figure.fullmatch(cell) is not None


def is_percent(head: str) -> bool:
    """Does the head of a column say that its bare numbers are percentages?"""
    return "%" in head
