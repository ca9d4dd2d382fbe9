"""Figures at the points of a picture or a schematic: a small box beside each point, a line leading to it."""

from dataclasses import dataclass

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe

from builds.ui.drawings.schematic import BETWEEN, SCALE, sections_down
from checks.schematic.anchors import Spot, find_room, taken
from checks.schematic.model import CHARACTER, At, Box, Schematic

LINE, PAD = 1.15, 0.35  # squares: the height of a line of a chip, and the room round its words
REACH = 0.55  # squares round a chip that a finger may hit as well


@dataclass(frozen=True)
class Chip:
    """What a map shows at a point: its number, then lines of text; `css` is the class of a verdict. One with an address
    leads there when it is tapped."""

    number: int
    lines: tuple[str, ...]
    css: str = ""
    address: str = ""

    @property
    def numbered_lines(self) -> tuple[str, ...]:
        first, *rest = self.lines or ("",)
        return (f"{self.number}: {first}" if first else str(self.number), *rest)

    @property
    def size(self) -> tuple[float, float]:
        longest = max(len(line) for line in self.numbered_lines)
        return longest * CHARACTER * 1.02 + 2 * PAD, len(self.numbered_lines) * LINE + PAD


def spots_on_schematic(schematic: Schematic, chips: list[tuple[Chip, int, At]]) -> list[tuple[Chip, Spot]]:
    """Each chip where it covers nothing, in squares of the whole drawing (builds.ui.drawings.schematic)."""
    placed = []
    for n, (section, dx, dy) in enumerate(sections_down(schematic)):
        own_chips = [(chip, at) for chip, k, at in chips if k == n]
        limits = Box(section.box.left, section.box.top, section.box.right, section.box.bottom + BETWEEN / 2)
        rooms = find_room([(at, *chip.size) for chip, at in own_chips], taken(section), limits)
        placed += [
            (chip, Spot(_moved(spot.at, dx, dy), spot.box.moved(dx, dy), _moved(spot.foot, dx, dy)))
            for (chip, _at), spot in zip(own_chips, rooms, strict=True)
        ]
    return placed


def _moved(at: At, dx: float, dy: float) -> At:
    return At(at.x + dx, at.y + dy)


def spots_on_picture(wide: int, high: int, chips: list[tuple[Chip, At]]) -> list[tuple[Chip, Spot]]:
    """The same on a picture of so many pixels, in squares of which the picture is PICTURE_SQUARES wide."""
    square = wide / PICTURE_SQUARES
    points = [(At(at.x / square, at.y / square), *chip.size) for chip, at in chips]
    rooms = find_room(points, [], Box(0, 0, PICTURE_SQUARES, high / square))
    return [(chip, spot) for (chip, _at), spot in zip(chips, rooms, strict=True)]


PICTURE_SQUARES = 55


def chips_svg(spots: list[tuple[Chip, Spot]], square: float = SCALE) -> SafeString:
    """Markers first, then the boxes: none hides another's words."""
    marks = [_mark(spot, square) for _chip, spot in spots]
    return mark_safe("".join([*marks, *(_box(chip, spot, square) for chip, spot in spots)]))  # noqa: S308 - escaped


def _n(value: float) -> str:
    return f"{round(value, 2):g}"


def _mark(spot: Spot, square: float) -> SafeString:
    x, y, fx, fy = (_n(v * square) for v in (*spot.at, *spot.foot))
    return format_html(
        '<path class="map-lead" d="M{} {}L{} {}"/><circle class="map-point" cx="{}" cy="{}" r="{}"/>',
        x,
        y,
        fx,
        fy,
        x,
        y,
        _n(0.38 * square),
    )


def _box(chip: Chip, spot: Spot, square: float) -> SafeString:
    box = spot.box
    lines = format_html_join(
        "",
        '<text class="map-words{}" x="{}" y="{}" font-size="{}">{}</text>',
        (
            (
                " map-strong" if n == 0 else "",
                _n((box.left + PAD) * square),
                _n((box.top + PAD / 2 + LINE * (n + 0.78)) * square),
                _n(0.95 * square),
                line,
            )
            for n, line in enumerate(chip.numbered_lines)
        ),
    )
    drawn = format_html('<g class="map-chip {}">{}{}</g>', chip.css, _rect(box, square, rounded=0.3), lines)
    if not chip.address:
        return drawn
    reach = Box(box.left - REACH, box.top - REACH, box.right + REACH, box.bottom + REACH)
    return format_html(
        '<a href="{}" class="map-way">{}{}</a>', chip.address, _rect(reach, square, css="map-reach"), drawn
    )


def _rect(box: Box, square: float, rounded: float = 0, css: str = "") -> SafeString:
    return format_html(
        '<rect class="{}" x="{}" y="{}" width="{}" height="{}" rx="{}"/>',
        css,
        _n(box.left * square),
        _n(box.top * square),
        _n((box.right - box.left) * square),
        _n((box.bottom - box.top) * square),
        _n(rounded * square),
    )
