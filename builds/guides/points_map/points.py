"""The points of a guide that its checks read volts at, and where they are drawn."""

from dataclasses import dataclass

from builds.guides.guide_cache import Guide
from builds.guides.models import Check, Picture
from builds.guides.points_map.places import list_places
from checks.measures import VOLTS
from checks.schematic import Schematic
from checks.schematic.anchors import find_anchor
from checks.schematic.model import At


@dataclass(frozen=True)
class MapPoint:
    """A point that is probed against the chassis. `checks`: its volts, in the guide's order."""

    number: int
    red: str
    location: str
    checks: tuple[Check, ...]

    @property
    def shown(self) -> Check:
        """What the map shows: DC before AC, and the last of them, which is of the amplifier at work."""
        return ([c for c in self.checks if c.measure == VOLTS[0]] or self.checks)[-1]


def map_points(guide: Guide, stage: str = "") -> list[MapPoint]:
    """Numbered in the order in which a build meets them; those of one stage where `stage` is its key."""
    by_node: dict[str, list[Check]] = {}
    for row in guide.stages:
        for item in row.items:
            if isinstance(item, Check) and _is_mapped(item) and stage in ("", row.key):
                by_node.setdefault(item.red, []).append(item)
    return [
        MapPoint(n, red, guide.probes.probe(red).location, tuple(checks))
        for n, (red, checks) in enumerate(by_node.items(), 1)
    ]


def _is_mapped(check: Check) -> bool:
    plain = not (check.through or check.formula or check.recording)
    return plain and check.measure in VOLTS and check.black == "chassis" and not check.red.startswith("=")


def stages_with_points(guide: Guide) -> list:
    return [stage for stage in guide.stages if any(_is_mapped(check) for check in stage.checks.all())]


def on_picture(guide: Guide, points: list[MapPoint], picture: Picture) -> list[tuple[MapPoint, At]]:
    """The points placed on a picture, in its pixels."""
    placed = []
    for point in points:
        row = guide.probes.points.get(point.red)
        if row and picture.name in (places := list_places(row)):
            x, y = places[picture.name]
            placed.append((point, At(x * picture.width, y * picture.height)))
    return placed


def on_schematic(schematic: Schematic, points: list[MapPoint]) -> list[tuple[MapPoint, int, At]]:
    """The points that are drawn, each with its section and its place there."""
    drawn = []
    for point in points:
        if anchor := find_anchor(schematic, point.red):
            drawn.append((point, *anchor))
    return drawn


def mapped_pictures(guide: Guide) -> list[Picture]:
    """Pictures that have points on them."""
    names = {name for point in guide.probes.points.values() for name in list_places(point)}
    return [picture for name, picture in guide.pictures.items() if name in names]
