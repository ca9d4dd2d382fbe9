"""What one cell says of a part: "22u 450 V" is a value and a rating, "0.1µ/630V" likewise, "4k7 1 % 2 W" is three.

What is recognised is kept as it was written, so that a value can be found again on its drawing; what is not becomes
the part's type or a note.
"""

import re
from dataclasses import dataclass, field

from builds.guides.parts_import.figures import plain_figures
from checks.codes import TOLERANCE_LETTERS
from checks.errors import ChecksError
from checks.quantity import format_quantity, parse_quantity, parse_tolerance

KEYS = {"V": "volts", "W": "power", "A": "amps", "%": "tolerance"}
_SPREAD = re.compile(r"-\s*\d+(?:[.,]\d+)?\s*%?\s*[/,]?\s*\+\s*\d+(?:[.,]\d+)?\s*%")
_FRACTION = re.compile(r"(?<![\d.,])(\d)\s*/\s*(\d{1,2})\s*([WA])(?:att|mp)?\b", re.IGNORECASE)
_CODED_WATTS = re.compile(r"(?<![\w.,])(\d{1,2})W(\d{1,2})(?!\w)")  # "0W5", as IEC 60062 writes a decimal point
_BEHIND = re.compile(r"(?<=[\dA-Za-zΩµμ%])±")  # "220k±5%" is two figures
# IEC 60062: letters of a tolerance behind a value, in per cent. K and M behind a space are read so where a prefix or
# unit has been given already: "4k7 K" is ten per cent, "100 K" is kilohms.
_SPREAD_LETTER = re.compile(
    r"(?P<value>(?<![\w.,])(?:\d*(?:[.,]\d+)?[pnuµμkKMGRr]\d*|\d+(?:[.,]\d+)?\s*[pnuµμm]F))(?:\s+(?P<apart>[FGJKM])|"
    r"(?P<close>(?<![RkKM])[JKM]))(?!\w)"
)
# Of a resistor the letters of value and tolerance may stand together: "10KF", "4K7J".
_CODED_OHMS = re.compile(r"(?<![\w.,])(?P<value>\d+[RKM]\d*|[RKM]\d+)(?P<close>[BCDFGJKM])(?!\w)")
# Of a potentiometer A, B and C say how its resistance grows with the turn (common practice): "100KA", "50k B".
_TAPER = re.compile(r"(?<![\w.,])(?P<value>\d+(?:[.,]\d+)?[RkKM]\d*)\s*(?P<taper>[ABC])(?!\w)")
_TAPER_FIRST = re.compile(r"(?<!\w)(?P<taper>[ABC])(?P<value>\d+[kKM]\d*)(?!\w)")  # as many bear it: "A100K"
_CODED_DIGITS = re.compile(r"[1-9]\d[1-6]")  # of a capacitor: two figures and the noughts behind them, in picofarads
_SPOILED = re.compile(r"(?<![\d.,])(\d)(?:[.,]0+)?E\+?0?(\d)(?![\d.,])", re.IGNORECASE)
_CODED = r"\d*[pnuµμmkKMGRrFHVΩ]\d+(?:\s*(?:F|H|Ω|ohms?))?"
_PLAIN = (
    r"\d+(?:[.,]\d+)?(?:[eE][-+]?\d+)?\s*(?:%|MMFD?|UUFD?|µµF|[pnuµμmkKMG]?\s*(?:MFD|ohms?|watts?|volts?|amps?|Hz|Ω|ω|V|W|A|F|H)"
    r"(?:\s*(?:AC|DC|~|=))?|[pnuµμmkKMGRr](?![A-Za-z])|MFD)?"
)
_TOKEN = re.compile(rf"±?\s*(?P<coded>{_CODED})(?![A-Za-z0-9])|(?P<plain>±?\s*{_PLAIN})(?![A-Za-z0-9])", re.IGNORECASE)
_EDGE = " \t,;/@x×·()[]"
# IEC 60127: speed, rated current, breaking capacity ("T250mAL250V"); the marking stays in the note, for who buys one
_FUSE = re.compile(
    r"(?<!\w)(?:FF|F|M|TT|T)\s*(?P<amps>\d+(?:[.,]\d+)?\s*m?A)\s*(?:[HLE](?=[\s\d/]|$)|(?=[\s/,;]|$))", re.IGNORECASE
)
UNITS_OF_KIND = {"resistor": "Ω", "potentiometer": "Ω", "test resistor": "Ω", "capacitor": "F", "electrolytic": "F"}
UNITS_OF_KIND |= {"inductor": "H", "zener": "V", "fuse": "A", "dc supply": "V", "battery": "V", "test battery": "V"}
UNITS_OF_KIND |= {"regulator": "V", "negative regulator": "V"}
FIELD_UNITS = {"volts": "V", "power": "W", "amps": "A"}
_KEY_OF_UNIT = {unit: key for key, unit in FIELD_UNITS.items()}
# A second value of a resistor or capacitor: with a prefix or unit, so that "0207" and "105C" are none.
_SAME_SORT = re.compile(rf"{_CODED}|\d+(?:[.,]\d+)?\s*[pnuµμkKMGR](?:F|Ω|ohms?)?|\d+(?:[.,]\d+)?(?:Ω|ohms?|F)")
_RATED = re.compile(
    r"\s*\d+(?:[.,]\d+)?\s*[mk]?(?P<unit>[VWA])(?:olts?|atts?|mps?)?\s*(?:ac|dc|~|=|-)?\s*", re.IGNORECASE
)


@dataclass
class CellFigures:
    """Keys of the guide file with what was written for them; `rest` is what is left."""

    figures: dict[str, str] = field(default_factory=dict)
    rest: list[str] = field(default_factory=list)


def read_cell(text: str, kind: str) -> CellFigures:
    """Take a cell apart for a part of a kind. Raises ChecksError ("twice", "no-unit") for what would be a guess."""
    cell, rest = CellFigures(), plain_figures(text)
    rest = _take(_SPREAD, rest, lambda match: _put(cell, "tolerance", match[0].replace(" ", "")))
    rest = _FRACTION.sub(lambda match: f"{int(match[1]) / int(match[2]):g} {match[3].upper()}", rest)
    rest = _CODED_WATTS.sub(r"\1.\2 W", _BEHIND.sub(" ±", rest))
    if kind == "fuse":
        rest = _take(_FUSE, rest, lambda match: _fuse(cell, match)).lstrip(_EDGE)
    if UNITS_OF_KIND.get(kind) in ("Ω", "F"):
        rest = _SPREAD_LETTER.sub(_with_percent, rest, count=1)
    if UNITS_OF_KIND.get(kind) == "Ω":
        rest = _in_ohms(_letters_apart(rest, kind))
    position = 0
    while position < len(rest):
        match = _TOKEN.match(rest, position) if _may_begin(rest, position) else None
        if match and _figure(cell, match, kind):
            position = match.end()
        else:
            end = _word_end(rest, position)
            cell.rest.append(rest[position:end])
            position = end
        while position < len(rest) and rest[position] in _EDGE:
            position += 1
    cell.rest = [word for word in cell.rest if word.strip(_EDGE + ".-–")]
    _refuse_second_value(cell, UNITS_OF_KIND.get(kind, ""))
    return cell


def _fuse(cell: CellFigures, match) -> None:
    cell.rest.append(match[0].strip())
    _put(cell, "value", match["amps"])


def _with_percent(match) -> str:
    """ "4k7 J" is 4k7 5%."""
    letter = match["apart"] or match["close"]
    is_farads = letter == "F" and match["value"][-1] in "pnuµμ"  # "22 n F"
    return match[0] if is_farads else f"{match['value']} {TOLERANCE_LETTERS[letter]:g}%"


def _letters_apart(text: str, kind: str) -> str:
    """A resistance apart from the letter that follows it: a resistor's tolerance, or how a potentiometer turns."""
    if kind == "potentiometer":
        text = _TAPER_FIRST.sub(r"\g<value>\g<taper>", text, count=1)
        return _TAPER.sub(r"\g<value> (\g<taper>)", text, count=1)
    return _CODED_OHMS.sub(_in_percent, text, count=1)


def _in_percent(match) -> str:
    return f"{match['value']} {TOLERANCE_LETTERS[match['close']]:g}%"


def _in_ohms(text: str) -> str:
    """ "470E" is 470 ohms. "4E7" is 4.7 ohms to one and 40 megohms to a spreadsheet, which writes 4.00E+07: refused."""
    if match := _SPOILED.search(text):
        raise ChecksError(
            "an exponent", argument="value", code="exponent", typed=match[0], ohms=f"{match[1]}R{match[2]}"
        )
    return re.sub(r"(?<=\d)E(?![\dA-Za-z+-])", "R", text)


def _refuse_second_value(cell: CellFigures, unit: str) -> None:
    """A bare number with another beside it: "10 000" is not ten ohms and a word. Nor is "33k–47k" or "47k or 51k" one
    value and a remark."""
    value, other = cell.figures.get("value", ""), next((word for word in cell.rest if re.match(r"[.,]?\d", word)), "")
    if not other or not re.fullmatch(r"\d+", value):
        tokens = [word.lstrip("-–—~≈|±…").rstrip("?!") for word in cell.rest] if value and unit in ("Ω", "F") else []
        other = next((word for word in tokens if word != value and _SAME_SORT.fullmatch(word)), "")
    if other:
        raise ChecksError("twice", argument="value", code="twice", key="value", one=value, other=other)


def _refuse_milli(text: str, unit: str) -> None:
    """ "1m" of a resistor is a megohm to most who write it; "10m" and "1M" of a capacitor were microfarads once."""
    match = re.fullmatch(r"(\d+(?:[.,]\d+)?)\s*([mM])(\d*)(?:F|Ω|ohms?)?", text)
    if (
        not match
        or (unit, match[2]) not in (("Ω", "m"), ("F", "m"), ("F", "M"))
        or re.search(r"m(?:Ω|[Oo]hms?)$", text)
    ):
        return
    number = f"{match[1]}.{match[3]}" if match[3] else match[1].replace(",", ".")
    if unit == "Ω":
        one, other = f"{number} MΩ", f"{number} mΩ"
    else:
        one, other = f"{number} µF", f"{float(number) * 1000:g} µF"
    raise ChecksError("milli", argument="value", code="milli-or", typed=text, one=one, other=other)


def _take(pattern, text: str, keep) -> str:
    match = pattern.search(text)
    if not match:
        return text
    keep(match)
    return f"{text[: match.start()]} {text[match.end() :]}".strip()


def _may_begin(text: str, position: int) -> bool:
    return position == 0 or text[position - 1] in _EDGE + "-±"


def _word_end(text: str, position: int) -> int:
    """A word ends at a space; "EL84/6BQ5" stays together."""
    end = position + 1
    while end < len(text) and text[end] not in " \t,;()[]":
        end += 1
    return end


def _figure(cell: CellFigures, match, kind: str) -> bool:
    """Note a token that is a figure; False where it is a word after all (a valve's "6SN7" is none)."""
    text = match[0].lstrip("± ").strip()
    unit = UNITS_OF_KIND.get(kind, "")
    if text.endswith("%"):
        return _put(cell, "tolerance", text.replace(" ", "").replace(",", "."))
    text = re.sub(r"(?i)\s*(?:(?<![A-Za-z])u)?MFD$", "u", re.sub(r"(?i)\s*(?:MMFD?|UUFD?|µµF)$", "p", text))
    text = re.sub(r"\s*MF$", "u", text)  # nobody means a megafarad
    if kind == "zener" and (volts := re.fullmatch(r"(\d+)V(\d+)", text)):
        text = f"{volts[1]}.{volts[2]} V"
    text = _as_coded(text)
    if "value" not in cell.figures:
        _refuse_milli(text, unit)
    try:
        quantity = parse_quantity(text)
    except ChecksError:
        return False
    own_unit = quantity.unit
    if unit and own_unit == unit and "value" not in cell.figures:
        return _put(cell, "value", _spelled(text, quantity, unit))
    if kind == "inductor" and own_unit == "Ω":  # of its wire
        return _put(cell, "ohms", text)
    if own_unit in KEYS.values() or own_unit in KEYS:
        return _put(cell, KEYS[own_unit], text)
    if unit and own_unit == "" and "value" not in cell.figures:
        if unit == "F" and _CODED_DIGITS.fullmatch(text):
            picofarads = int(text[:2]) * 10 ** int(text[2])
            farads = re.sub(r"\.?0+(?= )", "", format_quantity(picofarads * 1e-12, "F", 6))
            raise ChecksError("a code", argument="value", code="digits", typed=text, farads=farads)
        if unit in ("F", "H", "A") and text.replace(",", ".").replace(".", "").isdigit():
            raise ChecksError(f"“{text}” has no unit.", argument="value", code="no-unit", typed=text, wanted=unit)
        return _put(cell, "value", _spelled(text, quantity, unit))
    if unit == "F" and own_unit == "" and text.isdigit() and match.string[: match.start()].rstrip().endswith("/"):
        return _put(cell, "volts", f"{text} V")  # "0.1u/400"
    return False


def _spelled(text: str, quantity, unit: str) -> str:
    """A value as it was written, but one that a spreadsheet turned into 4.7E+03."""
    if not re.search(r"\d[eE][-+]?\d", text):
        return text
    return re.sub(r"\.?0+(?= )", "", format_quantity(quantity.value, unit, 6))


def _as_coded(text: str) -> str:
    """Letters as IEC 60062 has them: "100N" is 100n, "47r" is 47R."""
    text = re.sub(r"(?<=\d)r(?=\d|$)", "R", text)
    return re.sub(r"(?<=\d)(\s*)([NUP])(?=\d|[Ff]?$)", lambda match: match[1] + match[2].lower(), text)


def _put(cell: CellFigures, key: str, text: str) -> bool:
    if key in cell.figures and cell.figures[key] != text:
        raise ChecksError(
            f"{key} is given twice.", argument=key, code="twice", key=key, one=cell.figures[key], other=text
        )
    cell.figures[key] = text
    return True


def by_unit(cells: dict[str, str], kind: str) -> dict[str, str]:
    """One column of ratings may hold a resistor's watts and a capacitor's volts: each cell goes by its own unit, a
    capacitor's bare number is its volts. A rating that has its own cell already is left for `read_field` to refuse."""
    cells = _apart(cells)
    moved: dict[str, str] = {}
    for key in FIELD_UNITS:
        text = cells.get(key, "")
        match = _RATED.fullmatch(text)
        meant = _KEY_OF_UNIT[match["unit"].upper()] if match else key
        if key == "power" and kind in ("capacitor", "electrolytic") and re.fullmatch(r"\d+(?:[.,]\d+)?", text):
            meant = "volts"
        if text and (meant == key or not cells.get(meant)):
            moved[meant] = text
        elif text:
            moved[key] = text
    return {name: cell for name, cell in cells.items() if name not in FIELD_UNITS} | moved


def _apart(cells: dict[str, str]) -> dict[str, str]:
    """A cell of a column of ratings may hold several: "0,5W 1%", "250V/2A". Each goes to its own field, words to the
    note; one that has its own cell already is left for `read_field` to refuse."""
    for key in FIELD_UNITS:
        text = re.sub(r"(?<=[VWA%])\s*/\s*(?=\d)", " ", cells.get(key, ""), flags=re.IGNORECASE)
        read = read_cell(text, "") if len(re.findall(r"[VWA%]", text, re.IGNORECASE)) > 1 else CellFigures()
        others = {name for name in read.figures if name != key and cells.get(name)}
        if len(read.figures) > 1 and not others:
            note = "; ".join(filter(None, (cells.get("note", ""), " ".join(read.rest))))
            cells = {k: v for k, v in cells.items() if k != key} | read.figures | ({"note": note} if note else {})
    return cells


def read_field(key: str, text: str, *, percent: bool = False) -> str:
    """A cell of a column that is for one thing: "450" under volts is 450 V. Raises ChecksError."""
    text = plain_figures(text)
    if key == "tolerance":
        return _tolerance(text, percent)
    unit = FIELD_UNITS[key]
    if match := re.fullmatch(r"(\d)\s*/\s*(\d{1,2})\s*(?:W(?:att)?)?", text, re.IGNORECASE):
        return f"{int(match[1]) / int(match[2]):g} {unit}"
    bare = re.fullmatch(r"\d+(?:[.,]\d+)?", text)
    shown = f"{text} {unit}" if bare else re.sub(r"(?i)\s*(?:ac|dc|~|=)$", "", text)
    parse_quantity(shown, unit)
    return shown


def _tolerance(text: str, percent: bool) -> str:
    """A bare 5 is 5 %. A bare 0.05 could be a share or a percentage: refused, but where the column says percent."""
    compact = text.replace(" ", "").replace(",", ".")
    parse_tolerance(compact)
    if re.fullmatch(r"\d+(?:\.\d+)?", compact):
        if not percent and float(compact) < 0.5:
            raise ChecksError(f"“{text}” is not clear.", argument="tolerance", code="share-or-percent", typed=text)
        return f"{compact}%"
    return compact
