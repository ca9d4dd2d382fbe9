"""The schematic and the designer's pictures with their points, on pages of the printed guide."""

from dataclasses import dataclass

from reportlab.lib import colors
from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from builds.guides.figures import band_for
from builds.guides.guide_file.write import as_tables
from builds.guides.points_map.points import map_points, mapped_pictures, on_picture, on_schematic
from builds.guides.wiring.drawn import build_schematic
from builds.reports.figures import format_limits
from builds.reports.pdf_base import BOLD, INK, SANS
from builds.ui.drawings.chips import LINE, PAD, PICTURE_SQUARES, Chip, spots_on_picture, spots_on_schematic
from builds.ui.drawings.schematic import sections_down
from builds.ui.formatting import format_figure
from checks.schematic.model import At, Box, Ink, Shape, Text

LONG, HIGH = 240 * mm, 168 * mm  # of a drawing that lies along the page
LARGEST = 3.2 * mm  # a square of a small circuit


@dataclass(frozen=True)
class PointsMap:
    """`schematic` is None where it could not be drawn. `rows`: (number, point, check, expected, band)."""

    schematic: object
    spots: list
    rows: list[list[str]]
    pictures: list  # (picture, its spots)


def points_map(revision, guide) -> PointsMap:
    """What the map's pages show; figures at the guide's mains."""
    points = map_points(guide)
    schematic = build_schematic(as_tables(revision, guide)["part"])
    chips = {point.number: Chip(point.number, (_expected(point.shown) or "–",)) for point in points}
    drawn = on_schematic(schematic, points) if schematic else []
    spots = spots_on_schematic(schematic, [(chips[p.number], n, at) for p, n, at in drawn]) if schematic else []
    pictures = [(picture, _on_picture(guide, points, picture, chips)) for picture in mapped_pictures(guide)]
    rows = [
        [
            str(point.number),
            point.location,
            f"{check.stage.title}: {check.title}",
            _expected(check) or "–",
            _limits(check),
        ]
        for point in points
        for check in point.checks
    ]
    return PointsMap(schematic, spots, rows, pictures)


def _on_picture(guide, points, picture, chips) -> list:
    placed = [(chips[point.number], at) for point, at in on_picture(guide, points, picture)]
    return spots_on_picture(picture.width or 1, picture.height or 1, placed)


def _expected(check) -> str:
    band = band_for(check)
    if band is None:
        return ""
    return format_figure(band.expected, check.unit) if band.expected is not None else _limits(check)


def _limits(check) -> str:
    band = band_for(check)
    return format_limits(band.low, band.high, check.unit) if band else "–"


def schematic_pages(mapped: PointsMap) -> list["SchematicPage"]:
    """The sections on as few pages as they fit on, all at one scale."""
    placed = sections_down(mapped.schematic)
    widest = max(section.box.right - section.box.left for section, _x, _y in placed)
    highest = max(section.box.bottom - section.box.top for section, _x, _y in placed)
    square = min(LARGEST, LONG / widest, HIGH / (highest + 3))
    pages: list[list] = [[]]
    top = 0.0
    for section, x, y in placed:
        bottom = section.box.bottom + y
        if pages[-1] and (bottom + 2 - top) * square > HIGH:
            pages.append([])
        if not pages[-1]:
            top = section.box.top + y
        pages[-1].append((section, x, y, top))
    return [SchematicPage(rows, mapped.spots, square) for rows in pages]


class SchematicPage(Flowable):
    """Sections of a schematic lying along an upright page, read from its right side."""

    def __init__(self, rows: list, spots: list, square: float):
        super().__init__()
        self.rows, self.square = rows, square
        self.top = rows[0][3]
        low = max(section.box.bottom + y for section, _x, y, _top in rows) + 2
        self.spots = [(chip, spot) for chip, spot in spots if self.top <= spot.at.y <= low]
        self.width, self.height = HIGH, LONG

    def wrap(self, _width, _height):
        return self.width, self.height

    def draw(self):
        pen = Pen(self.canv, self.square, self.top)
        self.canv.saveState()
        self.canv.translate(0, LONG)
        self.canv.rotate(-90)  # the drawing's left edge is the top of the page
        self.canv.translate(0, HIGH)
        for section, x, y, _top in self.rows:
            pen.section(section, x, y)
        pen.chips(self.spots)
        self.canv.restoreState()


class PictureMap(Flowable):
    """A picture of the guide with its points, as wide as the page."""

    def __init__(self, path, wide: int, high: int, spots: list, width: float, most: float):
        super().__init__()
        share = min(width / wide, most / high)
        self.path, self.spots, self.width, self.height = str(path), spots, wide * share, high * share

    def wrap(self, _width, _height):
        return self.width, self.height

    def draw(self):
        self.canv.drawImage(self.path, 0, 0, self.width, self.height)
        self.canv.saveState()
        self.canv.translate(0, self.height)
        Pen(self.canv, self.width / PICTURE_SQUARES, 0).chips(self.spots)
        self.canv.restoreState()


class Pen:
    """Strokes and words in squares, downwards from the canvas's origin."""

    def __init__(self, canvas, square: float, top: float):
        self.canvas, self.square, self.top = canvas, square, top

    def at(self, point: At, dx: float = 0, dy: float = 0) -> tuple[float, float]:
        return (point.x + dx) * self.square, (self.top - point.y - dy) * self.square

    def section(self, section, dx: float, dy: float) -> None:
        self.canvas.setStrokeColor(INK)
        self.canvas.setLineCap(1)
        self.canvas.setLineWidth(0.09 * self.square)
        for wire in section.wires:
            self.canvas.line(*self.at(wire.start, dx, dy), *self.at(wire.stop, dx, dy))
        for drawn in (*section.symbols, *section.flags):
            for shape in drawn.shapes:
                self.shape(shape, dx, dy)
            for text in drawn.texts:
                self.text(text, dx, dy)
        self.canvas.setFillColor(INK)
        for dot in section.dots:
            self.canvas.circle(*self.at(dot, dx, dy), 0.25 * self.square, stroke=0, fill=1)

    def shape(self, shape: Shape, dx: float, dy: float) -> None:
        fill = shape.ink in (Ink.FILLED, Ink.PAPER)
        self.canvas.setFillColor(INK if shape.ink == Ink.FILLED else colors.white)
        self.canvas.setDash(*((0.35 * self.square, 0.3 * self.square) if shape.ink == Ink.DASHED else ()))
        if shape.radius:
            self.canvas.circle(*self.at(shape.points[0], dx, dy), shape.radius * self.square, stroke=1, fill=int(fill))
            return
        path = self.canvas.beginPath()
        path.moveTo(*self.at(shape.points[0], dx, dy))
        for point in shape.points[1:]:
            path.lineTo(*self.at(point, dx, dy))
        if shape.closed:
            path.close()
        self.canvas.drawPath(path, stroke=1, fill=int(fill))
        self.canvas.setDash()

    def text(self, text: Text, dx: float, dy: float) -> None:
        size = text.size * self.square
        self.canvas.setFont(BOLD if text.is_strong else SANS, size)
        self.canvas.setFillColor(INK)
        x, y = self.at(text.at, dx, dy)
        write = {"start": self.canvas.drawString, "middle": self.canvas.drawCentredString}
        write.get(text.anchor, self.canvas.drawRightString)(x, y - 0.34 * size, text.lettering)

    def chips(self, spots: list) -> None:
        for _chip, spot in spots:
            self.canvas.setLineWidth(0.08 * self.square)
            self.canvas.setStrokeColor(INK)
            self.canvas.setFillColor(INK)
            self.canvas.line(*self.at(spot.at), *self.at(spot.foot))
            self.canvas.circle(*self.at(spot.at), 0.33 * self.square, stroke=0, fill=1)
        for chip, spot in spots:
            self._box(chip, spot.box)

    def _box(self, chip: Chip, box: Box) -> None:
        x, y = self.at(At(box.left, box.bottom))
        wide, high = (box.right - box.left) * self.square, (box.bottom - box.top) * self.square
        self.canvas.setFillColor(colors.white)
        self.canvas.roundRect(x, y, wide, high, 0.25 * self.square, stroke=1, fill=1)
        for n, line in enumerate(chip.numbered_lines):
            at = At(box.left + PAD, box.top + PAD / 2 + LINE * (n + 0.78))
            self.canvas.setFillColor(INK)
            self.canvas.setFont(BOLD if n == 0 else SANS, 0.85 * self.square)
            self.canvas.drawString(*self.at(at), line)
