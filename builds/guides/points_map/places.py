"""Where a point is on the pictures of its guide, as fractions of their width and height."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from builds.guides.editor.edits import one_edit, row_version
from builds.guides.editor.meanwhile import EditedMeanwhile
from builds.guides.models import Picture, Point
from builds.guides.pictures.editing import frame_version, picture_version


def list_places(point: Point) -> dict[str, tuple[float, float]]:
    """Picture -> place, of every picture that this point is placed on."""
    places = {name: (x, y) for name, x, y in point.places or []}
    if point.picture and len(point.marker or ()) == 2:
        places[point.picture] = tuple(point.marker)
    return places


@dataclass(frozen=True)
class Seen:
    """What a page showed of a picture: in which frame, and where a point was on it."""

    frame: str
    place: tuple[float, float] | None


class Reframed(EditedMeanwhile):
    """The picture is another, or was turned or cropped: a place on it means something else by now."""


class Replaced(EditedMeanwhile):
    """The point is on another place of the picture by now."""


def seen_now(draft, node: str, picture: str) -> Seen:
    point = draft.points.filter(node=node).first()
    place = list_places(point).get(picture) if point else None
    return Seen(frame_version(draft.pictures.get(name=picture)), place)


def seen_version(picture: Picture, points: Iterable[Point]) -> str:
    """Of a picture as it is, and of the places that points have on it."""
    placed = sorted(
        (point.node, *list_places(point)[picture.name]) for point in points if picture.name in list_places(point)
    )
    return row_version({"picture": picture_version(picture), "placed": placed})


def put_point(draft, person, node: str, label: str, picture: str, at: tuple[float, float] | None, seen: Seen) -> None:
    """Place a point on a picture, or take it off it (None). A node without a point gets one, named by `label`. Raises
    Reframed or Replaced where picture or place are not as they were `seen`."""
    with one_edit(draft, person, "map", node):
        now = seen_now(draft, node, picture)
        if now.frame != seen.frame:
            raise Reframed
        if now.place != seen.place:
            raise Replaced
        point = draft.points.filter(node=node).first()
        if point is None:
            if at is None:
                return
            last = draft.points.order_by("-position").values_list("position", flat=True).first() or 0
            point = Point(revision=draft, position=last + 1, node=node, words=label[:200])
        _place(point, picture, at)
        point.save()


def _place(point: Point, picture: str, at: tuple[float, float] | None) -> None:
    spot = [_share(value) for value in at] if at else []
    if point.picture == picture or (not point.picture and at):
        point.picture, point.marker = picture, spot
        return
    others = [place for place in point.places or [] if place[0] != picture]
    point.places = [*others, *([[picture, *spot]] if at else [])] or None


def _share(value: float) -> float:
    if not math.isfinite(value):
        raise ValueError("a place is a fraction")
    return round(min(1.0, max(0.0, value)), 4)


def forget_picture(draft, name: str) -> None:
    """Take points off a further picture that is gone."""
    for point in draft.points.filter(places__isnull=False):
        remaining = [place for place in point.places if place[0] != name]
        if remaining != point.places:
            point.places = remaining or None
            point.save(update_fields=["places"])
