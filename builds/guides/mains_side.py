"""What of a kit is on the mains: no builder is sent there with ordinary probes.

The circuit tells by its nodes, a designer's own words by what they name. Allowed are the protective earth, and the pins
of a mains plug that is out of its socket: with the power off, and on an ohmmeter.
"""

import re
from dataclasses import dataclass

from checks.circuit.netlist.regulation import is_primary_name
from checks.circuit.netlist.terminals import VALVES, is_heater
from checks.measures import OHMS

CHASSIS = "chassis"
EARTHS = ("earth", "ground", "pe", "chassis")
NO_CONTACT = ("temperature",)
APART = ("connector", "hardware")  # pins of one part that are not joined inside it

LIVE_WORDS = re.compile(
    r"""\b(?:
        live | neutral | line\s+(?:pin|terminal|tag|wire|conductor) | inlet | outlet |
        mains(?![\s-]+(?:transformer|earth|ground|hum)) | (?:mains|power)\s+transformer(?:[’']s)?\s+primary |
        primar(?:y|ies)\s+(?:\w+\s+){0,2}of\s+the\s+(?:mains|power)\s+transformer | prim(?:ä|ae)r\w*\s+des\s+netz\w* |
        (?:IEC|power|wall|AC)[\s-]+(?:input|socket|switch|fuse|plug|lead|cord|terminals?|pins?|side) |
        phase | außenleiter | neutralleiter | nullleiter | steckdose\w* | kaltgeräte\w* |
        netz(?:spannung|schalter|sicherung|buchse|eingang|stecker|kabel|leitung|anschluss|seite)\w*
    )\b""",
    re.IGNORECASE | re.VERBOSE,
)
# More of them, of a place that is probed: in a sentence they may be what stands before the kit.
_LIVE_PLACES = re.compile(
    r"""\b(?:
        voltage\s+selector | spannungsw(?:ä|ae)hl\w* | wall\s+(?:voltage|power|supply) | variac | stelltrafo\w* |
        (?:isolating|isolation)\s+transformer | trenntrafo\w* | (?:lamp|bulb)\s+limiter |
        (?:limiter|series)\s+(?:lamp|bulb) | vorschaltlampe\w* | hot\s+(?:wire|conductor|leg) |
        L\s*(?:and|&|/|to|und|zu|nach)\s*N | N\s+pin | pin\s+N |
        (?:230|220|240|127|120|117|115|110|100)\s*V(?:olts?)?[\s-]+(?:tap|tag)
    )\b""",
    re.IGNORECASE | re.VERBOSE,
)
_PRIMARY = re.compile(r"\bprim(?:ary|aries|är\w*)\b", re.IGNORECASE)
_MAINS_IRON = re.compile(r"\b(?:mains|power|netz\w*)\b", re.IGNORECASE)
_OTHER_IRON = re.compile(
    r"\b(?:output|driver|inter-?stage|ausgangs\w*|treiber\w*|secondary|sekundär\w*)\b", re.IGNORECASE
)
_BESIDE = re.compile(r"\b(?:near(?:est)?|beside|next\s+to|neben|bei)\b", re.IGNORECASE)
_BY_KIND = {
    "fuse": re.compile(r"\b(?:fuse(?:[\s-]*holder)?|\w*sicherung\w*)\b", re.IGNORECASE),
    "switch": re.compile(r"\b(?:(?:on[\s/-]+off|rocker|toggle)[\s-]+switch|(?:kipp|wipp)schalter)\b", re.IGNORECASE),
}
_EARTH = re.compile(r"\b(?:earth|ground|PE|schutzleiter\w*|erde|erdstift)\b", re.IGNORECASE)
_LIVE_WIRE = re.compile(r"\b(?:live|neutral|phase|außenleiter|neutralleiter|nullleiter)\b", re.IGNORECASE)
_PLUG = re.compile(r"\b(?:plug|\w*stecker)\w*", re.IGNORECASE)
_OUT = re.compile(
    r"\b(?:unplugged|pulled\s+out|out\s+of\s+the\s+(?:wall|socket|outlet)|gezogen\w*|ausgesteckt\w*|aus\s+der\s+\w*dose)",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class MainsSide:
    """Nodes that the circuit joins to the mains, parts that lie wholly on that side, and what each socket pin joins."""

    nodes: frozenset[str]
    parts: frozenset[str]
    pins: dict[str, str]
    all_nodes: frozenset[str] = frozenset()  # of every part
    irons: frozenset[str] = frozenset()  # mains transformers
    refs: frozenset[str] = frozenset()  # of every part
    kinds: frozenset[str] = frozenset()  # of which every part lies on that side

    @classmethod
    def of(cls, parts: list[dict]) -> "MainsSide":
        """From rows of a parts list as written, readable by the circuit model or not."""
        groups = [group for part in parts for group in _joined_inside(part)]
        nodes = _spread(_seeds(parts), groups)
        own = {str(part.get("ref")): _nodes(part) - {CHASSIS} for part in parts}
        inside = frozenset(ref for ref, joins in own.items() if joins and joins <= nodes)
        pins = {pin: node for part in parts for pin, node in _pins(part).items()}
        irons = {str(part.get("ref")) for part in parts if part.get("kind") == "mains transformer"}
        outside = {str(part.get("kind")) for part in parts if str(part.get("ref")) not in inside}
        return cls(
            nodes,
            inside,
            pins,
            frozenset(node for part in parts for node in _nodes(part)),
            frozenset(irons),
            frozenset(own),
            frozenset(str(part.get("kind")) for part in parts) - outside,
        )

    def node(self, place: str) -> str:
        """The node at a probe point: the one a socket pin joins, else the point itself."""
        return self.pins.get(place, place)

    def is_forbidden(self, check: dict, power: str, point_texts: dict[str, str]) -> str:
        """The probe ("red" or "black") of a check that would touch the mains; empty where none does.

        `point_texts` are what points of the guide say, by node.
        """
        if check.get("measure") in NO_CONTACT:
            return ""
        places = {end: str(check.get(end) or (CHASSIS if end == "black" else "")) for end in ("red", "black")}
        texts = {end: self._words(place, point_texts) for end, place in places.items()}
        is_out = any(_OUT.search(text) for text in (*texts.values(), str(check.get("note", ""))))
        is_cold = power != "on" and check.get("measure") in OHMS
        for end, place in places.items():
            if not place.startswith("=") and self._is_on_mains(self.node(place)):
                return end
            if self._names_mains(texts[end]) and not (is_cold and _is_safe(texts[end], is_out)):
                return end
        return ""

    def _is_on_mains(self, node: str) -> bool:
        """By the circuit, or by the name of a point that no part joins."""
        return node in self.nodes or (node not in self.all_nodes and _is_mains_name(node))

    def _words(self, place: str, point_texts: dict[str, str]) -> str:
        return place[1:].strip() if place.startswith("=") else point_texts.get(place, "")

    def _names_mains(self, text: str) -> bool:
        names = {word.casefold() for word in re.findall(r"[\w.]+", text)}
        names |= {word.rstrip(".") for word in names} | {word.partition(".")[0] for word in names}
        if LIVE_WORDS.search(text) or _LIVE_PLACES.search(text) and not _OTHER_IRON.search(text):
            return True
        named = {ref for ref in self.refs if ref.casefold() in names}
        return bool(named & self.parts) or self._names_primary(text, named) or self._names_kind(text, named)

    def _names_primary(self, text: str, named: set[str]) -> bool:
        """The primary of a mains transformer, and not of one in the signal's path."""
        if not _PRIMARY.search(text) or _OTHER_IRON.search(text):
            return False
        return bool(named & self.irons or _MAINS_IRON.search(text))

    def _names_kind(self, text: str, named: set[str]) -> bool:
        """A fuse or a switch, where the kit has none but on the mains."""
        if named or _BESIDE.search(text):
            return False
        return any(kind in self.kinds and words.search(text) for kind, words in _BY_KIND.items())


def _is_safe(text: str, is_out: bool) -> bool:
    """Words for the protective earth alone, or for a pin of a plug that is out of its socket."""
    if _EARTH.search(text) and not _LIVE_WIRE.search(text):
        return True
    return bool(_PLUG.search(text)) and is_out


def _seeds(parts: list[dict]) -> set[str]:
    seeds = set()
    for part in parts:
        seeds |= {node for node in _nodes(part) if _is_mains_name(node)}
        if part.get("kind") == "mains transformer":
            for winding in _windings(part):
                if is_primary_name(str(winding.get("name", ""))):
                    seeds |= set(_texts(winding.get("joins")))
    return seeds - {CHASSIS}


def _is_mains_name(node: str) -> bool:
    first, _, rest = node.lower().replace("-", ".").replace("_", ".").partition(".")
    return first in ("mains", "line", "live", "neutral") and rest.rpartition(".")[2] not in EARTHS


def _spread(seeds: set[str], groups: list[set[str]]) -> frozenset[str]:
    """Everything that parts join to the mains; the chassis is earthed, and nothing is followed through it."""
    nodes, before = set(seeds), None
    while nodes != before:
        before = set(nodes)
        for group in groups:
            if group & nodes:
                nodes |= group - {CHASSIS}
    return frozenset(nodes)


def _joined_inside(part: dict):
    """Yield sets of nodes that a part joins inside: a winding's, a valve's heater, each section of a valve."""
    kind, joins = part.get("kind"), part.get("joins")
    if kind in APART:
        return
    for winding in _windings(part):
        yield set(_texts(winding.get("joins")))
    if kind in VALVES and isinstance(joins, dict):
        yield {node for name, item in joins.items() if is_heater(name) for node in _texts(item)}
        rest = {name: item for name, item in joins.items() if not is_heater(name)}
        yield {node for item in rest.values() if not isinstance(item, dict) for node in _texts(item)}
        yield from ({*_texts(item)} for item in rest.values() if isinstance(item, dict))
    else:
        yield set(_texts(joins))


def _pins(part: dict) -> dict[str, str]:
    """Socket pin, as "V1.4", -> the node it joins."""
    pins, joins = _flat(part.get("pins")), _flat(part.get("joins"))
    by_pin = {}
    for path, pin in pins.items():
        node = joins.get(path) or joins.get(path.rpartition("#")[0])
        if node:
            by_pin[f"{part.get('ref')}.{pin}"] = node
    return by_pin


def _flat(value, path: str = "") -> dict[str, str]:
    if isinstance(value, dict):
        return {k: v for name, item in value.items() for k, v in _flat(item, f"{path}.{name}").items()}
    if isinstance(value, list):
        return {k: v for n, item in enumerate(value) for k, v in _flat(item, f"{path}#{n}").items()}
    return {path: str(value)} if value is not None and path else {}


def _nodes(part: dict) -> set[str]:
    return {*_texts(part.get("joins")), *(n for winding in _windings(part) for n in _texts(winding.get("joins")))}


def _windings(part: dict) -> list[dict]:
    rows = part.get("winding")
    return [row for row in rows if isinstance(row, dict)] if isinstance(rows, list) else []


def _texts(value):
    """Every text in lists and tables."""
    if isinstance(value, dict | list):
        for item in value.values() if isinstance(value, dict) else value:
            yield from _texts(item)
    elif isinstance(value, str):
        yield value
