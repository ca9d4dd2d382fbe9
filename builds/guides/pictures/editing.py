"""Turning, cropping and marking a picture of a draft. What is placed on the picture moves with it, or nothing does."""

from builds.guides.editor.edits import one_edit, row_version
from builds.guides.editor.meanwhile import EditedMeanwhile
from builds.guides.models import Check, Picture
from builds.guides.pictures.geometry import Frame, is_inside, move_place, within
from builds.guides.pictures.saving import build_row, show_as


class CutOff(Exception):
    """What would be cut off, by name."""


def picture_version(picture: Picture) -> str:
    return row_version(build_row(picture) | {"file": picture.file.name})


def frame_version(picture: Picture) -> str:
    """Of what a place on the picture means: its file, how it is turned and what is cropped; not of its marks."""
    frame = Frame.of(picture.changes)
    return row_version({"file": picture.file.name, "turn": frame.turn, "crop": [*frame.crop]})


def put_marks(draft, person, name: str, version: str, marks: list[dict]) -> None:
    with one_edit(draft, person, "picture", name):
        picture = _now(draft, name, version)
        show_as(picture, build_row(picture) | {"mark": marks})


def reframe(draft, person, name: str, version: str, frame: Frame, drawn: list[dict] | None = None) -> None:
    """Show the picture in another frame, with the marks that were drawn on the old one. Points, the markers of checks
    and the marks stay on what they show. Raises Lost, and changes nothing, where one would be cut off: a builder would
    measure at the wrong place."""
    with one_edit(draft, person, "picture", name):
        picture = _now(draft, name, version)
        if drawn is not None:
            picture.changes = (picture.changes or {}) | {"mark": drawn}
        before = Frame.of(picture.changes)
        lost: list[str] = []
        points = _move_points(draft, name, before, frame, lost)
        checks = _move_checks(draft, name, before, frame, lost)
        marks = _move_marks(picture, before, frame, lost)
        if lost:
            raise CutOff(lost)
        for row in (*points, *checks):
            row.save()
        crop = {} if frame.is_whole or frame.crop == (0, 0, 1, 1) else {"crop": [*frame.crop]}
        show_as(picture, {"name": name, "turn": frame.turn, "mark": marks, **crop})


def _now(draft, name: str, version: str) -> Picture:
    picture = draft.pictures.filter(name=name).first()
    if picture is None or picture_version(picture) != version:
        raise EditedMeanwhile
    return picture


def _move(place, before: Frame, after: Frame, name: str, lost: list[str]) -> list[float]:
    spot = move_place(place, before, after)
    if not is_inside(spot):
        lost.append(name)
    return within(spot)


def _move_points(draft, picture: str, before: Frame, after: Frame, lost: list[str]) -> list:
    changed = []
    for point in draft.points.all():
        if point.picture == picture and len(point.marker or ()) == 2:
            point.marker = _move(point.marker, before, after, point.node, lost)
            changed.append(point)
        elif any(place[0] == picture for place in point.places or []):
            point.places = [
                [place[0], *_move(place[1:], before, after, point.node, lost)] if place[0] == picture else place
                for place in point.places
            ]
            changed.append(point)
    return changed


def _move_checks(draft, picture: str, before: Frame, after: Frame, lost: list[str]) -> list:
    changed = []
    for check in Check.objects.filter(stage__revision=draft, picture=picture):
        if len(check.marker or ()) == 2:
            check.marker = _move(check.marker, before, after, check.title, lost)
            changed.append(check)
    return changed


def _move_marks(picture: Picture, before: Frame, after: Frame, lost: list[str]) -> list[dict]:
    marks, grown = [], _growth(picture, before, after)
    for mark in (picture.changes or {}).get("mark", []):
        name = mark.get("text") or mark["what"]
        ends = {key: _move(mark[key], before, after, name, lost) for key in ("at", "to") if key in mark}
        size = {"size": round(min(0.5, mark["size"] * grown), 4)} if "size" in mark else {}
        marks.append(mark | ends | size)
    return marks


def _growth(picture: Picture, before: Frame, after: Frame) -> float:
    """How many times larger a share of the width a ring takes, once the frame is another."""
    left, top, right, bottom = before.crop
    wide, tall = picture.width / (right - left), picture.height / (bottom - top)
    turned = wide if (after.turn - before.turn) % 180 == 0 else tall
    return picture.width / (turned * (after.crop[2] - after.crop[0]))
