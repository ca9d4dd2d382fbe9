"""What a designer's words ask of a builder that could kill, and that no figure of the guide tells.

Only plain orders are found; a sentence that forbids the thing, or that does it without a probe, is left alone. The
words are English and German, the languages that guides are written in here.
"""

import re
from enum import StrEnum

from builds.guides.mains_side import LIVE_WORDS

_SENTENCE = re.compile(r"(?<=[.!?;])\s+|\n+")
_FORBIDS = re.compile(r"\b(?:never|do\s+not|don[’']t|must\s+not|without|nie(?:mals)?|nicht|kein\w*|ohne)\b", re.I)
_NO_PROBE = re.compile(
    r"\b(?:plug-in|unplugged|out\s+of\s+the\s+(?:wall|socket|outlet)|steckbar\w*|zwischenstecker|energiemess\w*|"
    r"ausgesteckt\w*|gezogen\w*|earth|ground|schutzleiter\w*|erde)\b",
    re.I,
)
_PROBES = re.compile(
    r"\b(?:measur\w+|prob(?:e|es|ing)|(?:multi)?meter|voltmeter|miss|messen|messe|gemessen|prüfspitze\w*)\b", re.I
)
_LIFTS = re.compile(
    r"\b(?:lift|lifting|disconnect|unhook|cut|undo)\b[^.]{0,30}\b(?:earth|ground)\b(?!\s*(?:clip|lead\s+of))|"
    r"\b(?:schutzleiter|erdleiter|erdung)\w*\b[^.]{0,30}\b(?:abklemm|trenn|lös|entfern)\w*|"
    r"\b(?:klemm|trenn)\w*\b[^.]{0,30}\b(?:schutzleiter|erdleiter|erdung)\w*",
    re.I,
)
_PART = (
    r"(?:valves?|tubes?|fuses?|resistors?|capacitors?|links?|röhren?|sicherung(?:en)?|"
    r"(?:[VRCFD]|Rö|Roe|Si)\d{1,3}[a-z]?)"
)
_HANDS = re.compile(
    rf"\b(?:fit|insert|install|push|swap|replace|remove|pull\s+out)\b[^.]{{0,40}}\b{_PART}\b|"
    r"(?:^|[,;:]\s*|\band\s+|\bthen\s+)(?:re-?|un|de)?solder\b|\breach\s+in(?:to|side)?\b|"
    rf"\b(?:setz|steck|tausch|entfern|löt)\w*\b[^.]{{0,40}}\b{_PART}\b|"
    rf"\b{_PART}\b[^.]{{0,30}}\b(?:(?:ein|um)(?:setzen|stecken|löten|bauen)|(?:an|ab|aus|nach)löten|"
    r"(?:aus)?tauschen|(?:aus)?wechseln|ausbauen|entfernen|(?:heraus)?ziehen)\b",
    re.I,
)
_ON = re.compile(
    r"^\W*(?:now\s+)?(?:plug\s+(?:it\s+)?in(?:\s+and|,(?:\s+then)?)\s+)?"
    r"(?:switch|power|turn)\s+(?:it\s+|the\s+\w+\s+)?(?:on|up)\b|^\W*schalte\w*\b.*\bein\b|"
    r"(?:^|[:,]\s*)\W*(?:now\s+|then\s+)?plug\s+(?:(?:it|the\s+(?:\w+\s+)?(?:kit|amplifier|amp|unit|set|lead|cord))\s+in\b|"
    r"in(?:\s+and\b|,|\s+(?:the\s+)?(?:kit|amplifier|amp|unit|set|(?:mains|power)\s+(?:lead|cord))\b|\W*$))|"
    r"^\W*(?:now\s+|then\s+)?connect\b[^.]{0,30}\bto\s+the\s+(?:mains|wall|outlet)\b|"
    r"^\W*(?:jetzt\s+|nun\s+|dann\s+)?(?:steck\w*\s+(?:jetzt\s+)?(?:den\s+)?(?:netz)?stecker\b[^.]*\b(?:ein|dose|rein)\b|"
    r"(?:den\s+)?netzstecker\s+einstecken\b)|"
    r"^\W*(?!(?:vor|nach|bei|beim|zum|das|dem|erst)\b)(?:\w+\s+){0,2}(?<!dem )(?<!beim )(?<!zum )einschalten\b",
    re.I,
)
_LIVE = re.compile(
    r"\bpower(?:ed)?\s+(?:is\s+)?(?:on|up)\b|\bunder\s+power\b|\bswitch(?:ed)?\s+(?:it\s+)?on\b|\bwhile\s+it\s+is\s+on\b|"
    r"\blive\s+(?:reading|check|test|measurement)s?\b|\bunter\s+(?:spannung|strom)\b|\b(?:ein|an)geschaltet\w*\b|\beinschalten\b",
    re.I,
)
_LOOKS = re.compile(
    r"\b(?:measur\w+|read(?:ing)?s?|prob(?:e|es|ing)|feel|check|test|compare|meter|"
    r"miss|messen|messe|gemessen|messwert\w*|prüf\w*|vergleich\w*)\b",
    re.I,
)
_OF_CURRENT = re.compile(r"\b(?:volts?|voltages?|currents?|spannung\w*|strom\w*)\b|\d\s*(?:m|k)?[VA]\b", re.I)
_COLD = re.compile(
    r"\bpower\s+off\b|\bunplug\w*|\bswitched\s+off\b|\bcold\b|\bohms?\b|Ω|\bresistances?\b|\bcontinuity\b|\bohmmeter\b|"
    r"\bmade\s+safe\b|\bstromlos\w*|\bspannungsfrei\w*|\b(?:aus|ab)geschaltet\w*|\bwiderst[aä]nd\w*|\bdurchgang\w*",
    re.I,
)
_ASKS = re.compile(r"\b(?:measur\w+|prob(?:e|es|ing)|miss|messen|messe|gemessen)\b", re.I)


class Order(StrEnum):
    """What a sentence asks for."""

    MEASURE_MAINS = "words-mains"
    LIFT_EARTH = "words-earth"
    HANDS_IN = "words-hands-in"
    SWITCH_ON = "words-switch-on"


def orders_in(text: str) -> set[Order]:
    """All that a text asks for."""
    orders = set()
    for sentence in _SENTENCE.split(re.sub(r"[*_`]", "", str(text))):
        if _FORBIDS.search(sentence):
            continue
        if LIVE_WORDS.search(sentence) and _PROBES.search(sentence) and not _NO_PROBE.search(sentence):
            orders.add(Order.MEASURE_MAINS)
        for pattern, order in ((_LIFTS, Order.LIFT_EARTH), (_HANDS, Order.HANDS_IN), (_ON, Order.SWITCH_ON)):
            if pattern.search(sentence):
                orders.add(order)
    return orders


def asks_live(text: str) -> bool:
    """Does a text ask for a reading with the power on, or for the power itself? Of whoever must keep it off."""
    for sentence in _SENTENCE.split(re.sub(r"[*_`]", "", str(text))):
        if _FORBIDS.search(sentence):
            continue
        is_cold = _COLD.search(sentence)
        if (_LIVE.search(sentence) or _ON.search(sentence)) and not is_cold:
            return True
        if not is_cold and (_ASKS.search(sentence) or (_LOOKS.search(sentence) and _OF_CURRENT.search(sentence))):
            return True
    return False
