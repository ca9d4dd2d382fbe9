"""What a meter shows or a parts list says, as a number: "285 V", "4k7", "0.285 kV", "OL" <-> SI values.

Grammar (letters' case matters only where it tells prefixes apart; spaces are free between number, prefix and unit):

    entry   = [sign] over [unit] | [sign] number [unit words]
    over    = ["."] "OL" | "O.L" | "0L" | "over" | "over range" | "overload" | "∞"      "1." is a number, not over
    number  = digits [mark digits] [exponent]            285   6,3   0.285   1.2e3
            | groups of three digits with thin or no-break spaces between    (ISO 80000-1, 7.3.1; a plain space could
              part two readings and is refused)
            | digits letter [digits]  | letter digits    4k7   R47   470R   1u5   2M2
    mark    = "." | ","     a comma with exactly three digits behind it is refused: it could mean thousands
    letter  = p n u µ μ m k K M G, or R for a plain ohm (IEC 60062:2016, clause 4)
    unit    = V, Ω, ohm, ohms, A, F, H, W, Hz, °C, C, s, %, dB, dBr, with a prefix; behind volts AC, DC or ~ may follow

Digits of other scripts and full-width signs count as the plain ones.
"""

import math
import re
import unicodedata
from dataclasses import dataclass, replace
from functools import lru_cache

from checks.errors import CallerError, ChecksError

PREFIXES = {"p": -12, "n": -9, "u": -6, "µ": -6, "μ": -6, "m": -3, "": 0, "R": 0, "k": 3, "K": 3, "M": 6, "G": 9}
UNITS = {
    "v": "V",
    "volt": "V",
    "volts": "V",
    "ω": "Ω",
    "Ω": "Ω",
    "ohm": "Ω",
    "ohms": "Ω",
    "r": "Ω",
    "a": "A",
    "amp": "A",
    "amps": "A",
    "f": "F",
    "h": "H",
    "w": "W",
    "watt": "W",
    "watts": "W",
    "hz": "Hz",
    "°c": "°C",
    "c": "°C",
    "degc": "°C",
    "s": "s",
    "%": "%",
    "db": "dB",
    "dbr": "dBr",
    "": "",
}
EXAMPLES = {
    "V": "285, 285 V, 0.285 kV, -7.3 or OL",
    "Ω": "470, 4k7, 2M2, R47 or OL",
    "A": "45 mA or 0.045",
    "F": "47u, 100n or 22p",
    "Hz": "50 or 1.0 kHz",
    "°C": "41 or 41.5",
    "W": "5 or 250 mW",
    "H": "10 or 5 H",
    "%": "0.5 or 0.5 %",
    "dB": "-80 or 26.5 dB",
    "dBr": "-45 or -45 dBr",
}
# Blanks are taken whole (`\s*+`): given back one by one, a few hundred between two signs would be tried for hours.
_OVER = re.compile(
    r"(?P<minus>[-+−–]?)\s*+\.?(?i:o\.?\s*+l\.?|0\.?l|over(?:\s*+range)?|overload|∞)"
    r"(?:\s*+(?P<near>[pnuµμmkKMG]?)(?P<sign>[ΩωVvAa])|\s++(?P<far>[pnuµμmkKMG]?)(?P<unit>[A-Za-zΩω°]+))?",
)
_PLAIN = re.compile(
    r"(?P<sign>[-+−–]?)\s*+(?P<digits>\d*(?:[.,]\d*)?)(?P<exp>[eE][-+]?\d{1,2})?\s*+"
    r"(?P<prefix>[pnuµμmkKMG]?)\s*+(?P<unit>[A-Za-zΩω°%]*?)\s*+(?P<kind>(?:[AaDd][Cc]|~)?)\s*+"
)
_LETTER = re.compile(
    r"(?P<sign>[-+−–]?)\s*+(?P<whole>\d*)(?P<letter>[pnuµμmkKMGR])(?P<part>\d+)\s*+(?P<unit>[A-Za-zΩω]*)\s*+"
)
_GROUPS = re.compile(r"(?<![\d.,])([1-9]\d{0,2}(?:[\u00a0\u2009\u202f]\d{3})+)(?=[.,]\d|[^\d.,]|$)")
LOOKED_AT = 300  # characters of an unreadable entry: the place that stops it is sought from its end
UNPREFIXED = ("°C", "%", "dB", "dBr")  # a K behind °C would be kelvin
LARGEST, SMALLEST = 1e15, 1e-18  # beyond these it is no reading
_WIDE = str.maketrans("．，－＋％\u2126", ".,-+%Ω")


@dataclass(frozen=True)
class Quantity:
    """An SI value with the size of its last digit. Over range: `value` and `resolution` are None, and `is_below` tells
    "-OL", beyond the other end of the range, from "OL".

    `power` is the power of ten of the prefix that was typed, None where neither prefix nor unit was; `kind` is "ac" or
    "dc" where that was typed; `is_coded` marks the letter notation of parts ("4k7"); `is_lone_one` a 1 and no other
    digit, which is how many meters show that they are over range.
    """

    value: float | None
    unit: str = ""
    resolution: float | None = None
    over_range: bool = False
    text: str = ""
    is_below: bool = False
    power: int | None = None
    kind: str = ""
    is_coded: bool = False
    is_lone_one: bool = False

    def __post_init__(self):
        if self.over_range != (self.value is None):
            raise CallerError("A quantity has a value or is over range, not both.", argument="value")
        if self.value is not None and not math.isfinite(self.value):
            raise CallerError("A quantity must be a finite number.", argument="value")
        if self.resolution is not None and not (math.isfinite(self.resolution) and self.resolution >= 0):
            raise CallerError("A resolution is a finite number, zero or more.", argument="resolution")
        if self.is_below and not self.over_range:
            raise CallerError("Only a reading over range can be below it.", argument="is_below")

    @property
    def number(self) -> float:
        """The value of a quantity that is not over range. Raises ChecksError for one that is."""
        if self.value is None:
            raise CallerError("A quantity over range has no number.", argument="value")
        return self.value


@lru_cache(maxsize=4096)
def parse_quantity(text: str, unit: str = "") -> Quantity:
    """Read an entry in `unit` (which the text may leave out).

    Raises ChecksError (codes "empty", "unreadable", "thousands", "unit", "size") with the column and what is accepted.
    """
    shown = str(text)
    entry = shown.strip().translate(_WIDE)
    if not entry.isascii():
        entry = "".join(str(unicodedata.decimal(c, c)) for c in entry)
    entry = _GROUPS.sub(lambda match: re.sub(r"\s", "", match[1]), entry, count=1)
    if not entry:
        raise ChecksError(f"Nothing was typed. {_accepted(unit)}", argument="text", code="empty", wanted=unit)
    if match := _OVER.fullmatch(entry):
        return _over_range(match, unit, shown)
    if match := _LETTER.fullmatch(entry):
        return _from_letter(match, unit, shown)
    match = _PLAIN.fullmatch(entry)
    if not match or not any(c.isdigit() for c in match["digits"]):
        raise _unreadable(entry, unit)
    return _from_plain(match, unit, shown)


def _over_range(match, unit: str, shown: str) -> Quantity:
    word = match["sign"] or match["unit"]
    own_unit = _unit(word, unit, shown) if word else unit
    power = PREFIXES[match["near"] or match["far"] or ""] if word else None
    return Quantity(None, own_unit, None, True, shown, _sign(match["minus"]) < 0, power)


def _accepted(unit: str) -> str:
    return f"Type a reading such as {EXAMPLES.get(unit, '285, 4k7 or 0.285k')}."


def _unreadable(entry: str, unit: str) -> ChecksError:
    """Point at the first character that stops the longest readable beginning."""
    entry = entry[:LOOKED_AT]
    column = next((i for i in range(len(entry), 0, -1) if _begins(entry[:i])), 0) + 1
    culprit = entry[column - 1 : column]
    what = f": “{culprit}” at place {column} does not belong there" if column > 1 else ""
    what = what if culprit else ": it ends too soon"
    return ChecksError(
        f"“{entry[:30]}” cannot be read{what}. {_accepted(unit)}",
        argument="text",
        code="unreadable",
        typed=entry[:30],
        culprit=culprit,
        column=column,
        wanted=unit,
    )


def _begins(text: str) -> bool:
    """Could a readable entry begin like this?"""
    return bool((_PLAIN.fullmatch(text) or _LETTER.fullmatch(text)) and (text[0].isdigit() or text[0] in ".,-+−–R"))


def _sign(mark: str) -> int:
    return -1 if mark in ("-", "−", "–") else 1


def _from_letter(match, unit: str, shown: str) -> Quantity:
    letter = match["letter"]
    power = PREFIXES[letter]
    own_unit = _unit(match["unit"], unit, shown) if match["unit"] else unit
    if letter == "R" and own_unit not in ("", "Ω"):
        raise _other_unit(shown, "Ω", own_unit)
    if own_unit in UNPREFIXED:
        raise _unprefixed(own_unit, shown)
    digits = f"{match['whole'] or '0'}.{match['part']}"
    return replace(_quantity(digits, power, _sign(match["sign"]), own_unit, shown), power=power, is_coded=True)


def _from_plain(match, unit: str, shown: str) -> Quantity:
    digits = match["digits"]
    lone = digits.rstrip(".,") == "1" and not match["exp"]
    if "," in digits:
        if re.fullmatch(r"[1-9]\d{0,2},\d{3}", digits):
            raise ChecksError(
                f"“{digits}” could be {digits.replace(',', '')} or {digits.replace(',', '.')}. Type it "
                "without the comma, or with a point.",
                argument="text",
                code="thousands",
                typed=digits,
            )
        digits = digits.replace(",", ".")
    prefix, word = match["prefix"], match["unit"]
    # "470R" reads as unit R; "4.7 k" as prefix; "10 m" needs its unit to be metre-free: m is milli here.
    stated = PREFIXES[prefix] if prefix or word else None
    power = PREFIXES[prefix] + int((match["exp"] or "e0")[1:])
    own_unit = _unit(word, unit, shown) if word else unit
    if match["kind"] and own_unit not in ("V", "A", ""):
        raise ChecksError(
            f"AC and DC go with volts or amps, not with {own_unit}.", argument="text", code="kind-unit", given=own_unit
        )
    if prefix and own_unit in UNPREFIXED:
        raise _unprefixed(own_unit, shown)
    kind = {"~": "ac"}.get(match["kind"], match["kind"].lower())
    read = _quantity(digits, power, _sign(match["sign"]), own_unit, shown)
    return replace(read, power=stated, kind=kind, is_lone_one=lone)


def _unit(word: str, expected: str, shown: str) -> str:
    known = UNITS.get(word) or UNITS.get(word.lower())
    if known is None:
        place = shown.strip().find(word) + 1
        raise ChecksError(
            f"“{word}” at place {place} is not a unit known here. {_accepted(expected)}",
            argument="text",
            code="unit",
            word=word,
            wanted=expected,
        )
    if expected and known and known != expected:
        raise _other_unit(shown, known, expected)
    return known or expected


def _other_unit(shown: str, given: str, wanted: str) -> ChecksError:
    typed = shown.strip()[:30]
    return ChecksError(
        f"“{typed}” is in {given}, but {wanted} is wanted here. Check the meter's function.",
        argument="text",
        code="unit",
        typed=typed,
        given=given,
        wanted=wanted,
    )


def _unprefixed(unit: str, shown: str) -> ChecksError:
    typed = shown.strip()[:30]
    return ChecksError(f"“{typed}”: {unit} takes no prefix.", argument="text", code="prefix", given=unit, typed=typed)


def _quantity(digits: str, power: int, sign: int, unit: str, shown: str) -> Quantity:
    decimals = len(digits.partition(".")[2])
    value = sign * float(f"{digits if digits != '.' else '0'}e{power}")
    if abs(value) > LARGEST:
        raise too_large()
    resolution = float(f"1e{power - decimals}")
    if 0 < abs(value) < SMALLEST or resolution < SMALLEST / 1000:
        raise too_small()
    return Quantity(value, unit, resolution, False, shown)


def too_large() -> ChecksError:
    return ChecksError("That is too large to be a reading. Check the prefix.", argument="text", code="size", large=True)


def too_small() -> ChecksError:
    return ChecksError(
        "That is too small to be a reading. Check the prefix.", argument="text", code="size", large=False
    )


def _engineering(value: float) -> int:
    """The power of a thousand that leaves 1 to 999 before the prefix."""
    if value == 0:
        return 0
    return max(-12, min(9, 3 * math.floor(math.log10(abs(value)) / 3 + 1e-12)))


NAMES = {-12: "p", -9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M", 9: "G"}


def format_quantity(value: float, unit: str, significant: int = 3) -> str:
    """Engineering notation with `significant` digits: 4700 Ω -> "4.70 kΩ". Percent, decibels, °C and bare
    numbers take no prefix."""
    if value is None or not math.isfinite(value):
        raise CallerError("Only a finite number can be written.", argument="value")
    rounded = float(f"{value:.{significant - 1}e}")
    power = 0 if unit in UNPREFIXED or not unit else _engineering(rounded)
    scaled = rounded / 10.0**power
    whole = len(str(int(abs(scaled))))
    number = f"{scaled:.{max(0, significant - whole)}f}"
    return f"{number} {NAMES[power]}{unit}".rstrip()


def format_typed(quantity: Quantity) -> str:
    """Engineering notation with the digits that were typed; over range is "OL". parse(format_typed(x)) == x."""
    if quantity.over_range:
        return "OL"
    value, resolution = quantity.number, quantity.resolution or 1.0
    last = round(math.log10(resolution))
    power = 0
    if quantity.unit not in UNPREFIXED:
        power = min(9, max(_engineering(value), 3 * math.ceil(last / 3)))  # never show digits that were not typed
    decimals = max(0, power - last)
    return f"{value / 10.0**power:.{decimals}f} {NAMES[power]}{quantity.unit}".rstrip()


@dataclass(frozen=True)
class Tolerance:
    """Fractions of the value: ±5 % is Tolerance(0.05, 0.05); -20/+50 % is Tolerance(0.2, 0.5)."""

    minus: float
    plus: float

    def __post_init__(self):
        for name in ("minus", "plus"):
            if not 0 <= getattr(self, name) < math.inf:
                raise CallerError("A tolerance is a finite share, zero or more.", argument=name)


# IEC 60062:2016 clause 5, the letters in common use.
TOLERANCE_LETTERS: dict[str, float | tuple[float, float]] = {
    "B": 0.001,
    "C": 0.0025,
    "D": 0.005,
    "F": 0.01,
    "G": 0.02,
    "J": 0.05,
    "K": 0.1,
    "M": 0.2,
    "Z": (0.2, 0.8),
}


def parse_tolerance(text: str) -> Tolerance:
    """Read "5%", "±5 %", "-20/+50%" or an IEC 60062 letter. Raises ChecksError."""
    entry = str(text).strip().replace("−", "-").replace(" ", "")
    if entry in TOLERANCE_LETTERS:
        share = TOLERANCE_LETTERS[entry]
        return Tolerance(*share) if isinstance(share, tuple) else Tolerance(share, share)
    if match := re.fullmatch(r"(?:±|\+/?-)?(\d+(?:[.,]\d+)?)%?", entry):
        share = float(match[1].replace(",", ".")) / 100
        return Tolerance(share, share)
    if match := re.fullmatch(r"-(\d+(?:\.\d+)?)%?[/,]?\+(\d+(?:\.\d+)?)%?", entry):
        return Tolerance(float(match[1]) / 100, float(match[2]) / 100)
    raise ChecksError(
        f"“{text}” is not a tolerance. Write 5%, -20/+50% or a letter such as J.",
        argument="tolerance",
        code="tolerance",
        typed=str(text),
    )
