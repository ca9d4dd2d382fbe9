"""Tables of points and figures made into checks."""

import re
from dataclasses import dataclass

from django.utils.translation import gettext as _

from builds.guides.parts_import.figures import TWO_WAYS
from builds.guides.text_import.part_ends import is_end_of_part
from builds.guides.text_import.pin_charts import PIN, VALVE, readings_of_chart
from builds.guides.text_import.several_points import points_of
from builds.guides.text_import.table_heads import columns_in, find_head, unit_of_head
from checks.errors import ChecksError
from checks.measures import UNITS
from checks.quantity import parse_quantity

_RANGE = re.compile(r"(?:(?:from|von)\s+)?(\S+?(?:\s*[pnuµmkM]?[VAΩW])?)\s*(?:–|—|-|…|÷|to|bis|\.{2,3})\s*(\S.*)")
_LEAST = re.compile(r"(?:>|≥|more than|mehr als|over|at least|min(?:imum)?\.?|über|mindestens)\s*(\S.*)", re.IGNORECASE)
_MOST = re.compile(
    r"(?:<|≤|less than|weniger als|below|under|at most|max(?:imum)?\.?|unter|höchstens)\s*(\S.*)", re.IGNORECASE
)
_PIN = re.compile(
    rf"\b({VALVE}[A-Za-z]?)\b(?:[\s,.:/(-]*(?:{PIN}\s*)?|[\s,(]*[^\W\d]{{4,16}}[\s,(]*{PIN}\s*)(\d{{1,2}})\b",
    re.IGNORECASE,
)
_PIN_OF = re.compile(rf"\b{PIN}\s*(\d{{1,2}})\b\D{{0,12}}\b({VALVE}[A-Za-z]?)\b", re.IGNORECASE)
_TWO_PINS = re.compile(  # of one valve: "V1 pins 4 and 5", "heater of V2, pin 4 to pin 5"
    rf"\b({VALVE}[a-z]?)\b[^\d]{{0,24}}?\b(?:{PIN}(?:s|e|en)?\s*)(\d{{1,2}})\s*"
    rf"(?:–|—|-|/|\+|&|→|\bto\b|\band\b|\bund\b|\bgegen\b|\bagainst\b|\bnach\b)\s*(?:{PIN}\s*)?(\d{{1,2}})(?![\w.,])"
    # "4/5 – 9": of two pins that are joined to a third
    rf"(?:\s*(?:–|—|-|→|\bto\b|\bgegen\b|\bagainst\b|\bnach\b|\bund\b|\band\b)\s*(?:{PIN}\s*)?(?P<third>\d{{1,2}})(?![\w.,]))?",
    re.IGNORECASE,
)
_BETWEEN = re.compile(r"(?P<red>.+?)\s+(?P<sign>–|—|-|→|to|gegen|against|nach|und|and)\s+(?P<black>.+)", re.IGNORECASE)
_BARE_PIN = re.compile(rf"(?:{PIN}\s*)?(\d{{1,2}})", re.IGNORECASE)
_BRACKETS = re.compile(r"(\S[^()\[\]]*?)\s*[(\[]\s*([^()\[\]]+?)\s*[)\]]")
CHASSIS_WORDS = r"(?:the )?(?:chassis|ground|earth|gnd|masse|0 ?v)(?: (?:stud|star|point))?"
_BOXES = " \u2610\u2611\u25a1\u25a2\u25fb\u2b1c\u25cb_[]()."  # to tick or to write into on paper
_ABOUT = r"approx\.?|about|around|roughly|typ(?:ically|\.)?|ca\.?|circa|zirka|etwa|rund|ungefähr"
_CURRENT = re.compile(r"\d\s*[mµu]?A\b")
_RESISTOR = re.compile(r"\bR\d{1,3}\b")
MEASURES = (
    (r"\bAC\b|~|alternating|wechsel", "ac volts"),
    (r"contin|durchgang", "continuity"),
    (r"isolat|insulat", "isolation"),
    (r"resist|ohm|Ω|widerstand", "resistance"),
    (r"\bHz\b|frequen", "frequency"),
    (r"°C|temperat", "temperature"),
    (r"\bDC\b|volt|gleich|spannung|B\+|\bHT\b", "dc volts"),
)


@dataclass
class CheckRow:
    """A check as far as a table tells it, what it does not, and how many steps of its stage come before it."""

    row: dict
    doubt: str = ""
    after: int = 0


def is_of_readings(rows) -> bool:
    return bool(readings_of_chart(rows)) or find_head(rows) is not None


def list_checks(rows, places: set[str], is_on: bool) -> list[CheckRow]:
    """A check for each row. `places` are the pins and points of the draft, by which a point is known."""
    rows = readings_of_chart(rows) or rows[find_head(rows) or 0 :]
    columns = columns_in(rows)
    heads = dict(zip(columns, rows[0], strict=False))
    check_rows, group = [], ""
    named = re.search(rf"\b{VALVE}\b", heads.get("point", ""), re.IGNORECASE)  # "V1 (ECC83)" above its pins
    valve = named[0] if named else ""
    for row in rows[1:]:
        if len(row) > 1 and len({*row}) == 1:  # a title in merged cells over the rows below
            group = row[0]
            continue
        cells = {name: cell.strip() for name, cell in zip(columns, row, strict=False) if name and cell.strip()}
        others = [f"{head}: {cell}" for name, head, cell in zip(columns, rows[0], row, strict=False)
                  if not name and cell.strip(_BOXES)]  # fmt: skip
        cells |= {"note": "; ".join(filter(None, (cells.get("note", ""), *others)))} if others else {}
        valve = cells.pop("valve", "") or (valve if _is_pin(cells.get("point", "")) else "")
        if valve:
            cells["point"] = _of_valve(valve, cells.get("point", ""))
        points = points_of(cells["point"], " ".join(cells.values())) if cells.get("point") else []
        for point in points:
            made = _check(cells | {"point": point}, heads, places, is_on)
            titles = [made.row["title"], point] if len(points) > 1 and cells.get("title") else [made.row["title"]]
            made.row["title"] = ": ".join(filter(None, (group, *titles)))[:120]
            check_rows.append(made)
    return check_rows


def _is_pin(point: str) -> bool:
    """Is it a pin of the valve that a row above names? A valve is written once for all its pins."""
    return re.match(rf"(?:{PIN}\s*)?\d{{1,2}}(?![\w.])", point, re.IGNORECASE) is not None


def _of_valve(valve: str, point: str) -> str:
    """One point of two columns: "V1" and "6" are "V1 pin 6", and so are "V1 ECC83" and "6"."""
    if _is_pin(point) and (named := re.match(rf"({VALVE})\W+\w", valve, re.IGNORECASE)):
        valve = named[1]
    pin = re.fullmatch(rf"(?:{PIN}\s*)?(\d{{1,2}})", point, re.IGNORECASE)
    return f"{valve} pin {pin[1]}" if pin else f"{valve} {point}".strip()


def _check(cells: dict, heads: dict, places: set[str], is_on: bool) -> CheckRow:
    row = {
        "title": (cells.get("title") or cells["point"])[:120],
        "measure": _measure(cells, heads, is_on),
        "red": find_place(cells["point"], places),
    }
    if cells.get("black"):
        row |= _black(cells["black"], places)
    elif pair := _two_places(cells["point"], places):
        row |= pair
    if _CURRENT.search(cells.get("expected", "")) and (through := _RESISTOR.findall(f"{cells['point']}")):
        row |= {"measure": "current", "through": through[0]}
    unit = UNITS[row["measure"]]
    hint = unit_of_head(heads.get("expected", ""))
    check = CheckRow(row)
    _expected(check, cells, unit, hint)
    for key in ("low", "high"):
        if cells.get(key):
            _put(check, key, cells[key], unit, unit_of_head(heads.get(key, "")) or hint)
    if limits := _RANGE.fullmatch(cells.get("band", "")):
        _put_range(check, limits, unit, unit_of_head(heads.get("band", "")) or hint)
    elif cells.get("band"):
        _band(check, cells["band"].lstrip("±+/- "), unit_of_head(heads.get("band", "")))
    if cells.get("stop"):
        stop = re.sub(r"(?i)^[>≥]\s*|^(?:above|over|über|ab)\s+", "", cells["stop"])
        _put(check, "stop_above", stop, unit, unit_of_head(heads.get("stop", "")) or hint)
    _settle_one_limit(row)
    if not {"expected", "low", "high", "at_least", "at_most"} & {*row} and not check.doubt:
        check.doubt = _("This row has no figure.")
    if cells.get("note"):
        row["note"] = "; ".join(filter(None, (row.get("note", ""), cells["note"])))
    return check


def _settle_one_limit(row: dict) -> None:
    """ "Max." alone: beside a tolerance it is where to switch off, which only makes the check stricter; else it is what
    a good build reads at most."""
    if ("low" in row) == ("high" in row):
        return
    key, stop, limit = ("high", "stop_above", "at_most") if "high" in row else ("low", "stop_below", "at_least")
    if "band" not in row:
        row[limit] = row.pop(key)
    elif stop not in row:
        row[stop] = row.pop(key)


def _black(cell: str, places: set[str]) -> dict[str, str]:
    """The chassis is where the black probe is anyway."""
    if re.fullmatch(CHASSIS_WORDS, cell.strip(), re.IGNORECASE):
        return {}
    return {"black": find_place(cell, places)}


def _two_places(text: str, places: set[str]) -> dict[str, str]:
    """Both probes of "V1 pin 4 – V1 pin 9" or "C1 + to chassis"; nothing where the words behind say what a pin is."""
    if (match := _TWO_PINS.search(text)) and match[2] != match[3]:
        other = match["third"] or match[3]
        return {
            "red": find_place(f"{match[1]} pin {match[2]}", places),
            "black": find_place(f"{match[1]} pin {other}", places),
        }
    match = _BETWEEN.fullmatch(text.strip())
    if not match:
        return {}
    red = find_place(match["red"], places)
    if re.fullmatch(CHASSIS_WORDS, match["black"].strip(), re.IGNORECASE):
        return {"red": red}
    named, pin = _PIN.search(match["red"]), _BARE_PIN.fullmatch(match["black"].strip())
    same_valve = f"{named[1]} pin {pin[1]}" if named and pin else match["black"]  # "V1 4+5 gegen 9"
    black = find_place(same_valve, places)
    both_known = not (red.startswith("=") or black.startswith("="))
    both_ends = all(
        _PIN.search(side) or _PIN_OF.search(side) or is_end_of_part(side) for side in (match["red"], same_valve)
    )
    # "against" leaves no doubt: a point that is not known is told in its words, never taken for the chassis.
    is_sure = both_known or both_ends or match["sign"].lower() in ("gegen", "against")
    return {"red": red, "black": black} if is_sure else {}


def _measure(cells: dict, heads: dict, is_on: bool) -> str:
    """By the meter's function, the unit of the figure, the heads; else volts with the power on and ohms without."""
    expected = re.sub(r"(?i)(?<=V)(?=[ad]c\b)", " ", _without_about(cells.get("expected", "")))  # "6.3VAC"
    text = f"{cells.get('measure', '')} {expected} {heads.get('expected', '')} {_without_about(cells['point'])}"
    measure = next((m for pattern, m in MEASURES if re.search(pattern, text, re.IGNORECASE)), "")
    if measure in ("continuity", "isolation"):
        return measure
    if not is_on and re.search(r"\d\s*[kM]?(?:Ω|ohm|R\b|k\b|M\b)|\d[kMR]\d", cells.get("expected", "")):
        return "resistance"
    if not is_on and re.search(r"\d\s*[kmµ]?V\b", cells.get("expected", "")):
        return "ac volts" if re.search(MEASURES[0][0], text, re.IGNORECASE) else "dc volts"
    if measure == "dc volts" and is_on and re.search(r"heater|filament|heiz", cells["point"], re.IGNORECASE):
        return "dc volts" if re.search(r"\bDC\b", text) else "ac volts"
    if measure:
        return measure
    if is_on and re.search(r"heater|filament|heiz", cells["point"], re.IGNORECASE):
        return "ac volts"
    return "dc volts" if is_on else "resistance"


def _without_about(text: str) -> str:
    """ "~285" is about 285; "6.3 V~" is alternating."""
    return re.sub(r"(?:^|(?<=[^VA\s]))(\s*)~(?=\s*[\d.,])", r"\1", text)


def _expected(check: CheckRow, cells: dict, unit: str, hint: str) -> None:
    text = re.sub(r"\+\s*/?\s*[-−–](?=\s*\d)", "±", cells.get("expected", ""))  # typed as "+/-", "+ -" and "+/−"
    if not text:
        return
    text = re.sub(r"(?<=[A-Za-zΩ])\s*[~≈=⎓](?=\s*(?:$|±))|^\+\s*(?=\d)", "", text)
    text = re.sub(r"(?i)^(?:climb|rise|settle|charge|steig|read)\w*\b.{0,20}?\b(?:to|at|auf|bei)\s+", "", text)
    if match := _BRACKETS.fullmatch(text.strip()):
        text = _bracketed(check, match, unit, hint)
    text, _sign, band = text.partition("±")
    if band:
        _band(check, band.strip(), (re.search(r"[mkM]?(?:V|Ω|A)\s*$", text) or [hint])[0].strip())
    if match := _LEAST.fullmatch(text.strip()):
        _put(check, "at_least", match[1], unit, hint)
    elif match := _MOST.fullmatch(text.strip()):
        _put(check, "at_most", match[1], unit, hint)
    elif (match := _RANGE.fullmatch(text.strip())) and not text.strip().startswith(("-", "−")):
        _put_range(check, match, unit, hint)
    else:
        _put(check, "expected", text.strip(), unit, hint)


def _put_range(check: CheckRow, match, unit: str, hint: str) -> None:
    """Both limits; a unit behind the second is that of the first as well."""
    tail = re.search(r"[pnuµmkM]?\s*[A-Za-zΩ]+$", match[2])
    low = match[1] if re.search(r"[A-Za-zΩ]$", match[1]) or not tail else f"{match[1]} {tail[0].strip()}"
    _put(check, "low", low, unit, hint)
    _put(check, "high", match[2], unit, hint)


def _band(check: CheckRow, band: str, unit: str) -> None:
    """A bare number is in the unit of its figure or of its column's head; where neither has one, it is left out."""
    if not re.fullmatch(r"[\d.,]+", band):
        check.row["band"] = band
    elif unit:
        check.row["band"] = f"{band}%" if unit == "%" else f"{band} {unit}"
    else:
        check.doubt = _("“%(text)s” is not a tolerance. Write %(text)s %% or %(text)s V.") % {"text": band[:20]}


def _bracketed(check: CheckRow, match, unit: str, hint: str) -> str:
    """The figure of "310 V (280–340)"; its range, or its band in "310 V (± 5 %)", is noted."""
    figure, inner = match[1], match[2]
    own = re.search(r"[pnuµmkM]?(?:V|Ω|A|ohms?|Hz)$", figure)
    if spread := re.fullmatch(r"(?:±|\+/-)\s*(\S.*)", inner):
        _band(check, spread[1], own[0] if own else hint)
    elif limits := _RANGE.fullmatch(inner):
        for key, text in zip(("low", "high"), limits.groups(), strict=True):
            is_bare = re.fullmatch(r"\d+(?:[.,]\d+)?", text.strip())
            _put(check, key, f"{text.strip()} {own[0]}" if own and is_bare else text, unit, hint)
    elif re.search(r"[^\W\d]{3}", inner) and not re.search(r"[^\W\d]{3}\.? +[-+−]?\d", inner):
        check.row["note"] = inner  # "200k (more after a while)"
    else:
        return match[0]
    return figure


def _put(check: CheckRow, key: str, text: str, unit: str, hint: str) -> None:
    """A figure in the check's unit; what cannot be read is told and left out."""
    text = re.sub(r"(?<=[A-Za-zΩ])\s*[~≈=⎓]\s*$", "", text)  # of alternating and direct volts
    text = re.sub(rf"(?i)\s*\b(?:AC|DC|{_ABOUT})\s*$|(?<=V)[ad]c$|^(?:{_ABOUT}|≈|~)\s*", "", text).strip()
    if hint and re.fullmatch(r"[-−+]?\d+(?:[.,]\d+)?", text):
        text = f"{text} {hint}"
    if match := TWO_WAYS.search(text):
        check.doubt = _("“%(text)s” could be a decimal or thousands.") % {"text": match[0]}
        return
    try:
        parse_quantity(text, unit)
    except ChecksError:
        check.doubt = _("“%(text)s” is not a figure in %(unit)s.") % {"text": text[:30], "unit": unit}
        return
    check.row[key] = text if re.search(r"[A-Za-zΩ%]", text) else f"{text} {unit}"


def find_place(text: str, places: set[str]) -> str:
    """A pin or point of the draft where the words name one; else the words themselves."""
    plain = text.strip()
    if plain in places:
        return plain
    by_case = {place.lower(): place for place in places}
    if plain.lower() in by_case:
        return by_case[plain.lower()]
    for pattern, order in ((_PIN, (1, 2)), (_PIN_OF, (2, 1))):
        if match := pattern.search(plain):
            valve, pin = match[order[0]].lower(), match[order[1]]
            if known := by_case.get(f"{valve}.{pin}") or by_case.get(f"{valve.rstrip('abcdef')}.{pin}"):
                return known
    return f"={plain}"[:120]
