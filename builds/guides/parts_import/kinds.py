"""The kind of a part from its reference, and from what its row says where the reference leaves it open."""

import re

from builds.guides.parts_import.letters import LETTERS
from builds.guides.parts_import.semiconductors import NEVER_BY_LETTER, kind_by_type
from builds.guides.parts_import.valve_book import valve_keys
from checks.circuit.netlist.parts import KINDS
from checks.errors import ChecksError
from checks.quantity import parse_quantity

CONNECTOR = (
    r"socket|plug\b|jack|inlet|terminal|binding post|buchse|stecker|klemme|cinch|\brca\b|\bxlr\b|\bbnc\b|klinke|banan"
)
# Words of a row (English, German) that settle what the letter leaves open, in this order.
KIND_PATTERNS = (
    ("R", r"potentiometer|\bpot\b|trimmer|poti\b", "potentiometer"),
    ("P", CONNECTOR, "connector"),
    ("C", r"electrolytic|électrolytique|chimique|\belec\b|elkos?\b|\bcan\b", "electrolytic"),
    ("C", r"film|foil|poly|mica|ceramic|paper|folie|keramik|glimmer", "capacitor"),
    ("D", r"zener|z-diode", "zener"),
    ("D", r"^(?!.*\b4 ?[x×]).*\b(?:1N40\d\d|1N54\d\d|UF[45]\d{3})\b", "diode"),  # four of them are a bridge
    ("D", r"bridge|brücke", "bridge"),
    (
        "T",
        r"output|speaker|ausgang|single-ended|push-?pull|:\s*(?:4|6|8|16)\s*(?:/|,|Ω|R\b|ohms?\b|$)|\bOP?T\b|\bAÜ\b|"
        r"(?:driver|reverb|interstage|treiber|hall)[ -]?(?:transform|trafo|übertrager)|"
        r"\d\s*k\w*\s*(?:CT|a-a)\b",
        "output transformer",
    ),
    ("L", r"lamp|lampe|bulb", "lamp"),
    ("X", r"socket, ceramic|valve (?:socket|holder)|fassung", "hardware"),
    ("X", r"transformer|trafo", "mains transformer"),
    ("S", r"sicherung|\bfuse", "fuse"),
    ("S", r"screw|spacer|standoff|schraube|abstand", "hardware"),
    ("F", r"foot|feet|füße", "hardware"),
)
# The same for letters that say nothing.
WORDED = (
    (r"ausgangs(?:trafo|übertrager)|output transformer|übertrager", "output transformer"),
    (r"trafo|transformer|transformator", "mains transformer"),
    (r"drossel|choke|inductor|spule", "inductor"),
    (r"poti\b|potentiometer|trimmer", "potentiometer"),
    (r"elkos?\b|electrolytic", "electrolytic"),
    (r"kondensator|capacitor", "capacitor"),
    (r"widerstand|resistor", "resistor"),
    (r"brückengleichrichter|bridge rectifier", "bridge"),
    (r"valve (?:socket|holder)|fassung|schraube|screw|mutter|\bnut\b|platine|\bboard\b|knob|knopf", "hardware"),
    (r"sicherung|\bfuse\b", "fuse"),
    (r"schalter|switch", "switch"),
    (r"lampe|lamp\b|\bneon", "lamp"),
    (CONNECTOR, "connector"),
)
_SORTS = (
    r"[RCDLVTFSQ]|(?:film |carbon |metal |wire ?wound )?(?:res(?:istor)?|cap(?:acitor)?)s?\.?|widerst(?:and|ände)|"
    r"kondensator(?:en)?|elkos?|röhren?|valves?|tubes?|(?:rectifier|output|power) (?:valve|tube)s?|rectifiers?|dioden?|"
    r"diodes?|chokes?|drosseln?|o(?:p)?t|p(?:w)?t|trafos?|transformers?|fuses?|sicherung(?:en)?|sockets?|buchsen?|"
    r"switch(?:es)?|schalter|pots?|hardware|kleinteile?"
)
_VOLTS = re.compile(r"(?<!\S)\d+(?:[.,]\d+)?\s*V\b")  # of a regulator
ELECTROLYTIC_FROM = 1e-6  # farads: above it, and without a word for another kind (common practice)


def guess_kind(ref: str, description: str = "", value: str = "", type_: str = "") -> str:
    """The kind, or "" where nothing tells."""
    letters = (re.match(r"[^\W\d_]*", ref) or [""])[0].upper()
    kind = LETTERS.get(letters, "")
    if kind == "triode":
        return valve_kind(type_)
    text = f"{value} {description} {type_}"
    if by_type := kind_by_type(letters, text):
        return by_type
    for first, pattern, named in KIND_PATTERNS:
        if letters.startswith(first) and re.search(pattern, text, re.IGNORECASE):
            return named
    if not kind:
        return next((named for pattern, named in WORDED if re.search(pattern, text, re.IGNORECASE)), "")
    if letters in NEVER_BY_LETTER and not (kind == "regulator" and _VOLTS.search(text)):
        return ""
    return "electrolytic" if kind == "capacitor" and _is_large(value) else kind


def is_valve(ref: str) -> bool:
    """Are the reference's letters a valve's?"""
    return LETTERS.get((re.match(r"[^\W\d_]*", ref) or [""])[0].upper(), "") == "triode"


def valve_kind(type_: str) -> str:
    """The kind of a valve by its type; "" for one that is not in the book."""
    return valve_keys(type_).get("kind", "")


def _is_large(value: str) -> bool:
    try:
        quantity = parse_quantity(re.sub(r"MFD?$", "u", value), "F")
    except ChecksError:
        return False
    return quantity.value is not None and ELECTROLYTIC_FROM <= quantity.value < 1


def named_kind(text: str) -> str:
    """A kind as a column of the list names it; "" for none that is known."""
    plain = " ".join(text.lower().split())
    aliases = {"capacitor, electrolytic": "electrolytic", "elec": "electrolytic", "pot": "potentiometer"}
    aliases |= {"choke": "inductor", "transformer": "mains transformer", "zener diode": "zener"}
    aliases |= {"electrolytic capacitor": "electrolytic", "film capacitor": "capacitor", "double triode": "twin triode"}
    plain = aliases.get(plain, plain)
    return plain if plain in KINDS else KINDS_BY_PLURAL.get(plain, "")


def names_kind(text: str) -> bool:
    """Is a cell one of the short words by which lists sort their parts?"""
    return re.fullmatch(_SORTS, text.strip(), re.IGNORECASE) is not None


KINDS_BY_PLURAL = {f"{kind}s": kind for kind in KINDS}
