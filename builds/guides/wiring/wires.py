"""Wires from one end to another, or to a point by name, made into the points that parts join."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from builds.guides.wiring.ends import SIGNS, End, flat_joins, list_ends, with_joins
from checks.circuit.netlist.wires import CHASSIS, Groups
from checks.errors import ChecksError

_LETTERS = "A-Za-zÀ-ÖØ-öø-ÿ"  # of western languages, since points are called after valves such as Rö1; no look-alikes
POINT = re.compile(rf"[{_LETTERS}0-9][{_LETTERS}0-9_.+\-]{{0,59}}")
_REF = re.compile(rf"([{_LETTERS}]{{1,4}}\d{{1,4}}[{_LETTERS}]?)\.(\S+)")
NUMBERED = {"a": "1", "b": "2"}  # ends of a part that has no plus
EARTHS = ("gnd", "ground", "earth", "0v", "masse", "chassis")


@dataclass
class Net:
    """What is wrong with wires, by where they stand; and the parts as wired."""

    errors: dict[object, ChecksError] = field(default_factory=dict)
    parts: list[dict] = field(default_factory=list)


class Board:
    """The ends of all parts by the addresses people use for them."""

    def __init__(self, parts: list[dict]):
        self.parts = parts
        self.ends = [end for row in parts for end in list_ends(row)]
        self.refs = {row["ref"] for row in parts}
        self.by_address: dict[str, End] = {}
        for end in self.ends:
            for name in {end.terminal, end.pin, SIGNS.get(end.terminal, "")} - {""}:
                self.by_address.setdefault(f"{end.ref}.{name}".lower(), end)
        for end in (end for end in self.ends if end.terminal in NUMBERED):  # "C5.1", as netlists have it
            self.by_address.setdefault(f"{end.ref}.{NUMBERED[end.terminal]}".lower(), end)

    def place(self, text: str):
        """An End, or the name of a point. Raises ChecksError ("no-end", "no-point")."""
        text = text.strip()
        if end := self.by_address.get(text.lower()):
            return end
        if (match := _REF.fullmatch(text)) and (match[1] in self.refs or match[1].isupper() or match[1][:-1].isupper()):
            code = "no-end" if match[1] in self.refs else "no-part"
            ends = [end.address for end in self.ends if end.ref == match[1]]
            raise ChecksError(f"{text} is no end.", code=code, typed=text, ref=match[1], ends=ends)
        if text in self.refs and not any(end.point == text for end in self.ends):
            ends = [end.address for end in self.ends if end.ref == text]
            raise ChecksError(f"{text} is a part.", code="no-end", typed=text, ref=text, ends=ends)
        if text.lower() in EARTHS:
            return CHASSIS
        if not POINT.fullmatch(text):
            raise ChecksError(f"{text} is no point.", code="no-point", typed=text[:40])
        return text


def wire(parts: list[dict], wires: Sequence[tuple[object, str, str]], *, anew: frozenset[str] = frozenset()) -> Net:
    """The parts with `wires` (key, from, to) in place; the wiring there is stays, but at the ends named in `anew`."""
    board, net, groups = Board(parts), Net(), Groups()
    for end in board.ends:
        if end.point and f"{end.ref}.{end.terminal}" not in anew:
            groups.join(_end(end), _point(end.point))
    named: dict[object, list] = {}
    for key, start, stop in wires:
        try:
            places = [board.place(text) for text in (start, stop)]
        except ChecksError as error:
            net.errors[key] = error
            continue
        one, other = (_end(place) if isinstance(place, End) else _point(place) for place in places)
        groups.join(one, other)
        named.setdefault(key, []).append(one)
    names = _names(groups, board, named, net)
    net.parts = [_wired(row, groups, names) for row in parts]
    return net


def _end(end: End):
    return ("end", end.ref, end.terminal)


def _point(name: str):
    return ("point", name)


def _names(groups: Groups, board: Board, named: dict, net: Net) -> dict:
    """Group -> the name of its point. Two names for one group are an error at the wire that brought them together."""
    by_root: dict = {}
    for place in list(groups.parent):
        if place[0] == "point":
            by_root.setdefault(groups.find(place), set()).add(place[1])
    for root, texts in by_root.items():
        if len(texts) > 1:
            keys = [key for key, starts in named.items() if any(groups.find(start) == root for start in starts)]
            for key in keys or [None]:
                net.errors.setdefault(key, ChecksError("two", code="two-points", points=sorted(texts)))
    names = {root: sorted(texts)[0] for root, texts in by_root.items()}
    taken = {name for texts in by_root.values() for name in texts}
    for end in board.ends:
        root = groups.find(_end(end)) if _end(end) in groups.parent else None
        if root is not None and root not in names:
            names[root] = _free(_own_name(end), taken)
            taken.add(names[root])
    return names


def _own_name(end: End) -> str:
    """What a point is called that nobody has named: after the first end that is there."""
    first, _dot, rest = end.terminal.partition(".")
    terminal = f"{first}.{rest}" if rest else first
    return f"{end.ref}{first}.{rest}".lower() if rest and len(first) == 1 else f"{end.ref}.{terminal}".lower()


def _free(name: str, taken: set[str]) -> str:
    n, candidate = 2, name
    while candidate in taken:
        candidate, n = f"{name}-{n}", n + 1
    return candidate


def _wired(row: dict, groups: Groups, names: dict) -> dict:
    flat = {}
    for end in list_ends(row):
        key = _end(end)
        flat[end.terminal] = names.get(groups.find(key), "") if key in groups.parent else ""
    return with_joins(row, flat) if flat != flat_joins(row) else row


def ends_by_point(parts: list[dict]) -> list[tuple[str, list[End]]]:
    """[(point, the ends that meet there)], by name, the chassis last."""
    by_point: dict[str, list[End]] = {}
    for row in parts:
        for end in list_ends(row):
            if end.point:
                by_point.setdefault(end.point, []).append(end)
    return sorted(by_point.items(), key=lambda item: (item[0] == CHASSIS, item[0]))
