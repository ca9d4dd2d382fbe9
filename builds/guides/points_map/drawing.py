"""A map drawn: the schematic or a picture with a figure at each of its points."""

from collections.abc import Callable

from builds.guides.guide_cache import Guide
from builds.guides.models import Picture
from builds.guides.points_map.points import MapPoint, on_picture, on_schematic
from builds.ui.drawings.chips import PICTURE_SQUARES, Chip, chips_svg, spots_on_picture, spots_on_schematic
from builds.ui.drawings.schematic import ZOOMS, build_drawing
from checks.schematic import Schematic

ChipMaker = Callable[[MapPoint], Chip]


def schematic_map(
    schematic: Schematic | None, points: list[MapPoint], make_chip: ChipMaker, zoom: str | None
) -> dict | None:
    """What templates/drawings/_schematic.html draws."""
    drawing = build_drawing(schematic, zoom)
    if drawing and schematic:
        chips = [(make_chip(point), section, at) for point, section, at in on_schematic(schematic, points)]
        drawing["chips"] = chips_svg(spots_on_schematic(schematic, chips))
    return drawing


def picture_map(guide: Guide, picture: Picture, points: list[MapPoint], make_chip: ChipMaker, zoom: str | None) -> dict:
    """What templates/drawings/_picture_map.html draws."""
    wide, high = picture.width or 1, picture.height or 1
    chips = [(make_chip(point), at) for point, at in on_picture(guide, points, picture)]
    return {
        "picture": picture,
        "wide": wide,
        "tall": high,
        "zoom": zoom if zoom in ZOOMS else "1",
        "points": len(chips),
        "chips": chips_svg(spots_on_picture(wide, high, chips), wide / PICTURE_SQUARES),
    }
