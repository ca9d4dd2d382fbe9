"""What a schematic is drawn from, and what the drawing consists of. Lengths are in squares of its grid, y downwards."""

from dataclasses import dataclass, field
from enum import StrEnum
from typing import NamedTuple

CHASSIS = "chassis"
TEXT_HIGH = 1.0  # a line of text, with the room above it
CHARACTER = 0.6  # the width allowed for each character of it


@dataclass(frozen=True)
class Component:
    """A wired part: terminal -> net in `joins` ("" for an end that joins nothing yet), terminal -> socket pin in
    `pins`, its windings as (name, terminals, caption), and up to two captions beside its reference."""

    ref: str
    kind: str
    joins: dict[str, str]
    pins: dict[str, str] = field(default_factory=dict)
    windings: tuple[tuple[str, tuple[str, ...], str], ...] = ()
    captions: tuple[str, ...] = ()
    form: str = ""  # what the symbol shall show beyond its kind: "led", "speaker"


@dataclass(frozen=True)
class Unit:
    """What one symbol stands for: a part, a section of a valve, or a valve's heater."""

    ref: str
    name: str  # "", "a", "b" or "heater"
    kind: str
    joins: dict[str, str]
    pins: dict[str, str]
    windings: tuple[tuple[str, tuple[str, ...], str], ...] = ()
    captions: tuple[str, ...] = ()
    form: str = ""

    @property
    def key(self) -> tuple[str, str]:
        return self.ref, self.name

    @property
    def label(self) -> str:
        return self.ref + (self.name if self.name != "heater" else "")

    @property
    def nets(self) -> frozenset[str]:
        return frozenset(net for net in self.joins.values() if net)

    def terminals_on(self, net: str) -> list[str]:
        return [terminal for terminal, joined in self.joins.items() if joined == net]


class At(NamedTuple):
    x: float
    y: float


class Box(NamedTuple):
    left: float
    top: float
    right: float
    bottom: float

    def moved(self, x: float, y: float) -> "Box":
        return Box(self.left + x, self.top + y, self.right + x, self.bottom + y)

    def grown(self, by: float) -> "Box":
        return Box(self.left - by, self.top - by, self.right + by, self.bottom + by)

    def overlaps(self, other: "Box") -> bool:
        return (
            self.left < other.right and other.left < self.right and self.top < other.bottom and other.top < self.bottom
        )


class Ink(StrEnum):
    LINE = "line"
    DASHED = "dashed"
    FILLED = "filled"
    PAPER = "paper"  # filled with the colour of the paper


@dataclass(frozen=True)
class Shape:
    """A line through points, or a circle round the one point there is."""

    points: tuple[At, ...]
    ink: Ink = Ink.LINE
    radius: float = 0.0
    closed: bool = False


@dataclass(frozen=True)
class Text:
    """A line of lettering: its middle is at `at.y`, it begins, is centred or ends at `at.x`."""

    lettering: str
    at: At
    anchor: str = "start"  # start, middle, end
    is_strong: bool = False
    size: float = 0.95

    @property
    def box(self) -> Box:
        wide = max(len(self.lettering) * CHARACTER * self.size / 0.95, 0.6)
        left = self.at.x - {"start": 0.0, "middle": wide / 2, "end": wide}[self.anchor]
        half = TEXT_HIGH / 2 * self.size / 0.95
        return Box(left, self.at.y - half, left + wide, self.at.y + half)

    def moved(self, x: float, y: float) -> "Text":
        return Text(self.lettering, At(self.at.x + x, self.at.y + y), self.anchor, self.is_strong, self.size)


@dataclass(frozen=True)
class Placed:
    """A symbol where it stands. `ends`: terminal -> the point at which its wire begins."""

    unit: Unit
    shapes: tuple[Shape, ...]
    texts: tuple[Text, ...]
    body: Box
    ends: dict[str, At]


@dataclass(frozen=True)
class Wire:
    net: str
    start: At
    stop: At


@dataclass(frozen=True)
class Flag:
    """The name of a net, or the sign of the chassis, at a point of it: flags of one name are joined."""

    net: str
    at: At
    shapes: tuple[Shape, ...]
    texts: tuple[Text, ...]
    box: Box


class SectionKind(StrEnum):
    SIGNAL = "signal"
    SUPPLY = "supply"
    HEATERS = "heaters"


@dataclass(frozen=True)
class Section:
    """A piece of the schematic that hangs together by flags only with the others."""

    kind: SectionKind
    symbols: tuple[Placed, ...]
    wires: tuple[Wire, ...]
    dots: tuple[At, ...]
    flags: tuple[Flag, ...]
    box: Box


@dataclass(frozen=True)
class Schematic:
    sections: tuple[Section, ...]
    left_out: tuple[str, ...] = ()  # references of parts that join nothing
    undrawn: tuple[Unit, ...] = ()  # of sections that found no room: to be listed in words
