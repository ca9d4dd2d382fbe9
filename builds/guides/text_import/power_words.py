"""Whether a stage is powered and which valves are in, by its words and by what its tables have read."""

import re

from builds.guides.text_import.pin_charts import VALVE
from checks.measures import OHMS, VOLTS

_ON = re.compile(
    r"\b(?:power(?:ing|ed)?[\s-]*(?:up|on)|first power|power with|with (?:the )?power|switch(?:ing)? on|with valves|"
    r"with (?:the )?valves? (?:in|fitted)|mit (?:allen |den )?röhren?|"
    r"live tests?|energi[sz]|einschalten|unter spannung|inbetriebnahme)\b",
    re.IGNORECASE,
)
_OFF = re.compile(r"\b(?:before|no|without|vor)\s+(?:the\s+)?(?:first\s+)?power|unplugged|spannungslos", re.IGNORECASE)
_BARE = re.compile(r"\b(?:no|without|ohne)\s+(?:the\s+)?(?:valves?|tubes?|röhren?)\b", re.IGNORECASE)
_VALVES = r"(?:valves?|tubes?|röhren?)"
_ARE = r"(?:(?:are|is|still|remain|stay|sind|bleiben|noch)\s+)*"
_BARE_WORDS = re.compile(
    rf"\b(?:no|without|ohne)\s+(?:the\s+)?{_VALVES}(?=\s*(?:[.,;:)!]|$|(?:yet|fitted|in|installed)\b))|"
    rf"\b{_VALVES}\s+{_ARE}(?:in (?:the|their|its) box|out\b|removed|not (?:yet )?(?:fitted|inserted|plugged)|"
    r"nicht (?:gesteckt|eingesetzt))|"
    rf"\b(?:sockets?|fassung(?:en)?)\s+{_ARE}(?:empty|leer)|"
    r"\b(?:leave|keep)\s+(?:all\s+)?(?:the\s+)?sockets?\s+empty",
    re.IGNORECASE,
)
_LEFT_OUT = re.compile(
    rf"\b(?:leave|keep|take|pull|without|ohne|lass\w*)\s+(?P<refs>{VALVE}(?:(?:\s*,\s*|\s*(?:and|und|&|\+)\s*){VALVE})*)",
    re.IGNORECASE,
)
LIVE_FIGURES = frozenset({"expected", "low", "at_least"})


def is_off(title: str) -> bool:
    return bool(_OFF.search(title))


def is_on(title: str) -> bool:
    return bool(_ON.search(title) or _BARE.search(title)) and not is_off(title)


def is_bare(title: str) -> bool:
    return bool(_BARE.search(title))


def leaves_out_valves(texts) -> bool:
    return any(map(_BARE_WORDS.search, texts))


def named_left_out(texts, valves: list[str]) -> list[str]:
    """The valves that the words name as left out; all of them where none is named. A rectifier may be in."""
    matches = [match for text in texts for match in _LEFT_OUT.finditer(text)]
    named = {ref.upper() for match in matches for ref in re.findall(VALVE, match["refs"], re.IGNORECASE)}
    return [ref for ref in valves if ref.upper() in named] or valves


def reads_ohms(checks) -> bool:
    return any(check.row.get("measure") in OHMS for check in checks)


def reads_live(checks) -> bool:
    """Volts that should be there are read with the power on, whatever a title says. A check that a capacitor is
    discharged has only a limit above; beside resistances the power is off."""
    live = any(check.row.get("measure") in VOLTS and LIVE_FIGURES & {*check.row} for check in checks)
    return live and not reads_ohms(checks)
