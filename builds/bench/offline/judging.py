"""What a phone judges a check by while it has no connection: tables from the functions that judge here."""

import re
import sys
import unicodedata
from functools import lru_cache
from hashlib import sha256
from threading import Lock
from typing import Any

from builds.bench.readings.context import ReadingContext
from builds.bench.readings.made_safe import is_safe
from builds.bench.readings.resting import figures_resting_on
from checks.entry import BEST_OHMS, LARGEST_SHOWN, LEADS, MEGOHM_LOOKALIKE, SHOWN, is_in_milliohms, most_volts
from checks.errors import ChecksError
from checks.judge_table import build_table
from checks.measures import find_measure
from checks.meter import PRESETS, MeterSpec
from checks.outcomes import Outcome
from checks.quantity import _LETTER, _OVER, _PLAIN, _WIDE, PREFIXES, UNITS, UNPREFIXED, Quantity
from checks.safety import TOUCH_DC

CODES = {
    Outcome.IN_BAND: "i",
    Outcome.TOO_CLOSE: "c",
    Outcome.OUT_OF_BAND: "o",
    Outcome.SWITCH_OFF: "x",
}
DIGITS, REFUSED = "g", "n"  # more digits are wanted; nothing a meter shows there
TOO_LARGE = "b"  # for any meter, and it would pass
SAFE, NOT_SAFE = "s", "u"
_MAKING = Lock()
TYPED = 34  # characters a form takes


def make_key(context: ReadingContext) -> str:
    """Tells tables apart: what a check is judged by here and now. A page and a table with different keys never meet."""
    return sha256(repr(_rests_on(context)).encode()).hexdigest()[:12]


def _rests_on(context: ReadingContext) -> tuple:
    return (
        context.measure,
        context.line,
        context.exponent,
        context.band,
        context.meter,
        context.source_ohms,
        context.through,
        context.is_waiting,
        context.hertz,
    )


def rules_for(context: ReadingContext, is_corrected: bool = False) -> dict | None:
    """All that the phone needs to judge an entry; None where the guide has no figure, so that nothing can pass. Where
    an erratum corrects the check, the phone says no more than a stop: its table knows the figures as issued."""
    if context.band is None:
        return None
    made = _made_once(*_rests_on(context))
    if is_corrected or _may_stop_by_figure(context.check):
        made = _stops_alone(made)
    return {"key": make_key(context), **_reading_rules(context), **made}


def _may_stop_by_figure(check) -> bool:
    """Is a figure worked out from this check that has a stop limit? The phone does not work it out, so that it may not
    say that the reading is right."""
    return any(figure.stop_above or figure.stop_below for figure in figures_resting_on(check))


def _stops_alone(made: dict) -> dict:
    stop = CODES[Outcome.SWITCH_OFF]
    return {"powers": {}, **{end: stop if made[end] == stop else "?" for end in ("over", "below")}}


def stop_rules(context: ReadingContext) -> dict | None:
    """Enough to read an entry and to know a stop, and nothing to pass it by: for a sheet whose mains voltage is typed
    with it. None where there is no stop limit."""
    band = context.band
    if band is None or (band.stop_above is None and band.stop_below is None):
        return None
    return {**_reading_rules(context), "powers": {}, "over": "?", "below": "?"}


def _reading_rules(context: ReadingContext) -> dict:
    measured, band = context.measure, context.meter_band
    assert band is not None  # else nothing is judged by it
    return {
        "shows": measured.shows,
        "kind": measured.kind,
        "signed": measured.is_signed,
        "ohms": measured.is_ohms,
        "digital": context.meter.kind == "digital",
        "beforehand": context.unit_beforehand,
        "bounded": band.high is not None,
        "milliohms": is_in_milliohms(band),
        "most": most_volts(band),
        "above": band.stop_above,
        "under": band.stop_below,
        "swapped": band.is_swapped_stop(float("-inf")),
        "swapped_below": band.is_swapped_stop_below(float("inf")),
    }


def _made_once(*facts) -> dict:
    """A phone asks for its notebook on every page: who comes while a table is being made waits for it."""
    with _MAKING:
        return _table(*facts)


@lru_cache(maxsize=4096)
def _table(measured, line, exponent, band, meter, source_ohms, through, is_waiting, hertz) -> dict:
    no_check: Any = None  # a table is of figures, for every check that has them
    context = ReadingContext(
        no_check,
        measured,
        None,
        line,
        exponent,
        None,
        band,
        meter,
        source_ohms,
        through,
        is_waiting=is_waiting,
        hertz=hertz,
    )
    return build_table(lambda quantity: _code(context, quantity), _limits(context), measured.shows)


def _code(context: ReadingContext, quantity: Quantity) -> str:
    try:
        return CODES[context.verdict_on(quantity)[1].outcome]
    except ChecksError as error:
        return {"digits": DIGITS, "size": TOO_LARGE}.get(error.code, REFUSED)


def _limits(context: ReadingContext) -> list[float]:
    """Where the verdict may change its mind, in what the meter shows."""
    band = context.meter_band
    assert band is not None  # else nothing is judged by it
    named = [band.low, band.high, band.expected, band.stop_below, band.stop_above]
    if band.low is not None and band.high is not None:
        named.append((band.low + band.high) / 2)
    known = [value for value in named if value is not None]
    return [*known, *(value * share for value in known for share in (0.9, 1.1)), *context.meter.ranges]


def find_meter(build) -> MeterSpec:
    return build.meter.as_spec() if build.meter else PRESETS["basic"]


def safe_key(build) -> str:
    return sha256(repr(find_meter(build)).encode()).hexdigest()[:12]


def safe_rules(build) -> dict:
    """Whether a reading across the reservoir is safe to put hands in. Volts are typed plainly there (MadeSafeForm)."""
    volts = find_measure("dc volts")
    return {
        "key": safe_key(build),
        "shows": volts.shows,
        "kind": volts.kind,
        "signed": volts.is_signed,
        "ohms": volts.is_ohms,
        "digital": True,
        "beforehand": volts.shows,
        "plain": True,
        "most": most_volts(None),
        "above": None,
        "under": None,
        "swapped": False,
        **_safe_table(find_meter(build)),
    }


@lru_cache(maxsize=64)
def _safe_table(meter: MeterSpec) -> dict:
    class AsBuild:
        class meter:  # noqa: N801
            as_spec = staticmethod(lambda: meter)

    return build_table(
        lambda quantity: SAFE if is_safe(AsBuild, quantity) else NOT_SAFE,
        [TOUCH_DC, 0.9 * TOUCH_DC, *meter.ranges],
        "V",
    )


@lru_cache(maxsize=1)
def grammar() -> dict:
    """How an entry is read (checks.quantity, checks.entry), for the phone's own reading of it."""
    return {
        "plain": _in_script(_PLAIN.pattern),
        "letter": _in_script(_LETTER.pattern),
        "over": _in_script(_OVER.pattern),
        "prefixes": PREFIXES,
        "units": UNITS,
        "unprefixed": list(UNPREFIXED),
        "wide": {chr(code): letter if isinstance(letter, str) else chr(letter) for code, letter in _WIDE.items()},
        "noughts": [code for code in range(128, sys.maxunicode) if unicodedata.decimal(chr(code), None) == 0],
        "shown": {unit: list(units) for unit, units in SHOWN.items()},
        "largest": LARGEST_SHOWN,
        "leads": LEADS,
        "finest": BEST_OHMS,
        "lookalike": MEGOHM_LOOKALIKE,
        "length": TYPED,
    }


def _in_script(pattern: str) -> str:
    """A pattern as a browser reads it: named groups without P, and no flags inside or `*+`, which browsers lack."""
    pattern = re.sub(r"(?<=[*+])\+", "", pattern)
    start = pattern.find("(?i:")
    if start >= 0:
        end = _closing(pattern, start)
        inner = "".join(
            f"[{c.lower()}{c.upper()}]" if _is_letter(pattern, start + 4 + n) else c
            for n, c in enumerate(pattern[start + 4 : end])
        )
        pattern = f"{pattern[:start]}(?:{inner}{pattern[end:]}"
    return pattern.replace("(?P<", "(?<")


def _is_letter(pattern: str, place: int) -> bool:
    return pattern[place].isascii() and pattern[place].isalpha() and pattern[place - 1] != "\\"


def _closing(pattern: str, start: int) -> int:
    depth = 0
    for place in range(start, len(pattern)):
        depth += {"(": 1, ")": -1}.get(pattern[place], 0)
        if depth == 0:
            return place
    raise ValueError("A pattern's brackets do not close.")
