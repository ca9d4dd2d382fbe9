"""A schematic as SVG: geometry and classes only, its colours come from the page's style sheet."""

from collections.abc import Iterator

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from checks.schematic.model import At, Box, Flag, Placed, Schematic, Section, Shape, Text, Wire

SCALE = 10  # units of the drawing to a square of its grid
BETWEEN = 3  # squares between two sections


def number(value: float) -> str:
    return f"{round(value * SCALE, 2):g}"


def sections_down(schematic: Schematic) -> list[tuple[Section, float, float]]:
    """Each section with how far it is moved, so that they stand under each other from (0, 0)."""
    placed, y = [], 0.0
    for section in schematic.sections:
        placed.append((section, -section.box.left, y - section.box.top))
        y += section.box.bottom - section.box.top + BETWEEN
    return placed


def find_size(schematic: Schematic) -> Box:
    every = [section.box for section in schematic.sections]
    wide = max((box.right - box.left for box in every), default=1)
    tall = sum(box.bottom - box.top + BETWEEN for box in every) - BETWEEN if every else 1
    return Box(0, 0, wide, tall)


def schematic_groups(schematic: Schematic) -> SafeString:
    """Every section as a group of strokes and words."""
    return mark_safe("".join(_section(*row) for row in sections_down(schematic)))  # noqa: S308 - escaped piece by piece


def _section(section: Section, x: float, y: float) -> SafeString:
    pieces = [_wire(wire) for wire in section.wires]
    pieces += [piece for symbol in section.symbols for piece in _symbol(symbol)]
    pieces += [piece for flag in section.flags for piece in _flag(flag)]
    pieces += [format_html('<circle class="sch-dot" cx="{}" cy="{}" r="2.5"/>', *_at(at)) for at in section.dots]
    inner = format_html_join("", "{}", ((piece,) for piece in pieces))
    return format_html('<g transform="translate({} {})">{}</g>', number(x), number(y), inner)


def _at(at: At) -> tuple[str, str]:
    return number(at.x), number(at.y)


def _wire(wire: Wire) -> SafeString:
    return format_html('<path class="sch-wire" d="M{} {}L{} {}"/>', *_at(wire.start), *_at(wire.stop))


def _symbol(symbol: Placed) -> Iterator[SafeString]:
    yield from map(shape, symbol.shapes)
    yield from (text(one, "sch-text") for one in symbol.texts)


def _flag(flag: Flag) -> Iterator[SafeString]:
    yield from map(shape, flag.shapes)
    yield from (text(one, "sch-net") for one in flag.texts)


def shape(one: Shape) -> SafeString:
    css = f"sch-{one.ink}"
    if one.radius:
        x, y = _at(one.points[0])
        return format_html('<circle class="{}" cx="{}" cy="{}" r="{}"/>', css, x, y, number(one.radius))
    path = "L".join(" ".join(_at(point)) for point in one.points)
    return format_html('<path class="{}" d="M{}{}"/>', css, path, "Z" if one.closed else "")


def text(one: Text, css: str) -> SafeString:
    if one.is_strong:
        css += " sch-strong"
    x, y = number(one.at.x), number(one.at.y + 0.32 * one.size)
    size = f"{one.size * SCALE:g}"
    return format_html(
        '<text class="{}" x="{}" y="{}" font-size="{}" text-anchor="{}">{}</text>',
        css,
        x,
        y,
        size,
        one.anchor,
        one.lettering,
    )


def list_undrawn(schematic: Schematic) -> list[str]:
    """Each unit that found no room in the drawing, with the points it joins."""
    return [f"{unit.label} ({', '.join(sorted(unit.nets))})" for unit in schematic.undrawn]


def undrawn_sentence(schematic: Schematic) -> str:
    """For papers; "" where everything is drawn."""
    parts = "; ".join(list_undrawn(schematic))
    sentence = _("There was no room to draw these parts. In brackets: the points they join. %(parts)s.")
    return sentence % {"parts": parts} if parts else ""


ZOOMS = ("1", "2", "3", "4")


def build_drawing(schematic: Schematic | None, zoom: str | None = "") -> dict | None:
    """What templates/drawings/_schematic.html draws; `zoom` is how many times as wide as its frame it is."""
    if schematic is None:
        return None
    box = find_size(schematic)
    return {
        "groups": schematic_groups(schematic),
        "wide": number(box.right),
        "tall": number(box.bottom),
        "zoom": zoom if zoom in ZOOMS else "1",
        "parts": sum(len(section.symbols) for section in schematic.sections),
        "undrawn": list_undrawn(schematic),
    }


_FILE_STYLE = (
    ".sch-sheet{background:#fff;font-family:sans-serif}"
    ".sch-wire,.sch-line,.sch-dashed,.sch-paper{fill:none;stroke:#000;stroke-width:1.3;stroke-linecap:round;"
    "stroke-linejoin:round}.sch-paper{fill:#fff}.sch-dashed{stroke-dasharray:4 3}"
    ".sch-filled,.sch-dot,.sch-sheet text{fill:#000}.sch-strong{font-weight:bold}.sch-net{font-style:italic}"
)


def schematic_file(schematic: Schematic, title: str) -> str:
    """A file of its own, black on white."""
    box = find_size(schematic)
    wide, tall = number(box.right), number(box.bottom)
    return format_html(
        '<svg xmlns="http://www.w3.org/2000/svg" class="sch-sheet" viewBox="0 0 {} {}" width="{}" height="{}"'
        ' role="img">'
        "<title>{}</title><style>{}</style>{}</svg>",
        wide,
        tall,
        wide,
        tall,
        title,
        mark_safe(_FILE_STYLE),  # noqa: S308 - written above
        schematic_groups(schematic),
    )
