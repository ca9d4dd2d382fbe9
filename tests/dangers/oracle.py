"""What a measurement engineer makes of an entry, written from the rules alone: it imports nothing of the project.

`meanings` gives every SI value that somebody at the bench may have meant by a text beside a unit button; an entry may
pass only if all of them lie in band, and must stop the builder, or be asked about, if any lies past a stop limit.
"""

import re
import unicodedata
from dataclasses import dataclass

POWERS = {"": 0, "m": -3, "k": 3, "K": 3, "M": 6, "µ": -6, "u": -6, "μ": -6, "G": 9, "n": -9, "p": -12}
OHM_WORDS = ("Ω", "Ω", "ω", "ohm", "ohms", "r")
VOLT_WORDS = ("v", "volt", "volts")
OVER = ("ol", "o.l", "o.l.", ".ol", "0l", "0.l", "1over", "over", "overrange", "overload", "∞")
EDGE = 1e-6  # of a limit, by which a value on it may be on either side: binary fractions of decimals


@dataclass(frozen=True)
class Meaning:
    """An SI value, or over range at one end."""

    value: float | None
    over: int = 0  # 1 over range, -1 below


@dataclass(frozen=True)
class Limits:
    """A band at this bench, in the unit judged; `stop_above` and `stop_below` where there are any."""

    low: float | None = None
    high: float | None = None
    stop_above: float | None = None
    stop_below: float | None = None
    by_size: bool = False  # only an upper limit: -3 V is not "at most 0.1 V"

    def lets_in(self, value: float) -> bool:
        value = abs(value) if self.by_size else value
        above = self.low is None or value >= self.low - EDGE * abs(self.low)
        return above and (self.high is None or value <= self.high + EDGE * abs(self.high))

    def is_past_stop(self, value: float) -> bool:
        """Clearly past: not on the limit itself."""
        up = self.stop_above is not None and value > self.stop_above + EDGE * abs(self.stop_above)
        down = self.stop_below is not None and value < self.stop_below - EDGE * abs(self.stop_below)
        return up or down


def _plain(text: str) -> str:
    text = unicodedata.normalize("NFKC", text).strip()
    return re.sub("[−–—]", "-", text)


def _numbers(text: str) -> list[float]:
    """Every number that a text of digits and marks may stand for, here or on the continent."""
    sign = -1.0 if text.startswith("-") else 1.0
    digits = text.lstrip("+-").replace(" ", "").replace("'", "").replace("’", "")
    result = set()
    for point, groups in ((".", ","), (",", ".")):
        candidate = digits
        if groups in candidate:
            if groups == "." and candidate.count(".") == 1 and "," not in candidate:
                continue  # a meter shows its decimals behind a point
            if not re.fullmatch(rf"[1-9]\d{{0,2}}(?:\{groups}\d{{3}})+(?:\{point}\d*)?", candidate):
                continue
            candidate = candidate.replace(groups, "")
        candidate = candidate.replace(point, ".")
        if re.fullmatch(r"\d+\.?\d*|\.\d+", candidate):
            result.add(sign * float(candidate))
    return sorted(result)


def meanings(text: str, button: str, unit: str, in_milliohms: bool = False) -> list[Meaning]:
    """All that may be meant; empty where it is no reading of this unit at all. `button` is "Ω", "kΩ", "mV" and so on,
    or empty; `in_milliohms`: the guide has this check in milliohms."""
    entry = _plain(text)
    body = re.sub(r"(?i)\s*(ac|dc|~)$", "", entry)
    compact = body.lower().replace(" ", "")
    for word in OVER:
        sign = compact.startswith("-")
        if compact.lstrip("+-") == word or re.fullmatch(rf"[+-]?{re.escape(word)}[kmµ]?(v|Ω|ω|ohm)?", compact):
            return [Meaning(None, -1 if sign else 1)]
    coded = re.fullmatch(r"([+-]?\d*)([kKmMRrµuG])(\d+)\s*([ΩVv]?)", body)
    if coded:
        whole, letter, part, _unit = coded.groups()
        number = float(f"{whole or '0'}.{part}")
        powers = {-3, 6} if letter == "m" and unit == "Ω" else {POWERS.get(letter.replace("R", "").replace("r", ""), 0)}
        return [Meaning(number * 10.0**power) for power in sorted(powers)]
    split = re.fullmatch(
        r"([+-]?\s*[\d.,'’ ]*?\d[\d.,'’ ]*?)(?:[eE]([+-]?\d{1,2}))?\s*((?:[^\d\s.,][^\d\s]*)?(?: [^\d\s]+)?)", body
    )
    if not split:
        return []
    number, exponent, word = split.groups()
    word = word.replace(" ", "")
    values = [value * 10.0 ** int(exponent or 0) for value in _numbers(number)]
    if in_milliohms and word in ("mΩ", "mohm", "mohms") and values and min(values) >= 100:
        return [Meaning(value / 1000) for value in values]  # as megohms it is beyond the meter, and nobody meant it
    return [Meaning(value * 10.0**power) for value in values for power in _powers(word, button, unit)]


def _powers(word: str, button: str, unit: str) -> list[int]:
    """Powers of ten of a written unit, else of the button."""
    text = OHM_WORDS if unit == "Ω" else VOLT_WORDS
    if not word:
        return [POWERS[button[:-1]]] if button else sorted({POWERS[b] for b in _buttons(unit)})
    for prefix, power in POWERS.items():
        rest = word[len(prefix) :]
        if word.startswith(prefix) and (rest.lower() in [w.lower() for w in text] or (not rest and prefix)):
            return [-3, 6] if prefix == "m" and unit == "Ω" else [power]
    return []


def _buttons(unit: str) -> tuple[str, ...]:
    return ("", "k", "M") if unit == "Ω" else ("", "m")
