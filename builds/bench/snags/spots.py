"""The place that a snag is about, marked on the builder's photo or on the guide's picture."""

import re

from django import forms
from django.utils.translation import gettext as _

ON = ("photo", "picture")
TYPED = re.compile(rf"({'|'.join(ON)}) (0(?:\.\d{{1,4}})?|1(?:\.0{{1,4}})?) (0(?:\.\d{{1,4}})?|1(?:\.0{{1,4}})?)")


def parse_spot(text: str) -> dict | None:
    """ "photo 0.25 0.5" -> what a row keeps: shares of the picture's width and height, from its top left. Raises
    ValidationError."""
    if not text.strip():
        return None
    match = TYPED.fullmatch(text.strip())
    if not match:
        raise forms.ValidationError(
            _("The marked place cannot be read. Mark it again, or send without it."), code="spot"
        )
    return {"on": match[1], "x": float(match[2]), "y": float(match[3])}


def marked_photo(snag, photos):
    """(the photo that the spot is on, the spot's place in its pixels and size), None where none is marked."""
    first = next(iter(photos), None)
    spot = snag.spot
    if not spot or spot["on"] != "photo" or first is None:
        return None
    return {"photo": first, **_placed(spot, first.width, first.height)}


def marked_picture(snag, pictures: dict):
    """The guide's picture that the spot is on, with its place; None where none is marked or the picture is gone."""
    row, spot = snag.step or snag.check_row, snag.spot
    picture = pictures.get(row.picture) if row else None
    if not spot or spot["on"] != "picture" or picture is None:
        return None
    return {"picture": picture, **_placed(spot, picture.width, picture.height)}


def _placed(spot: dict, width: int, height: int) -> dict:
    size = max(width, height, 1)
    return {
        "x": f"{spot['x'] * width:.0f}",
        "y": f"{spot['y'] * height:.0f}",
        "radius": f"{size / 25:.0f}",
        "width": str(width),
        "height": str(height),
    }


def spot_context(snag) -> dict:
    """Both, for a page of the snag."""
    pictures = {picture.name: picture for picture in snag.build.revision.pictures.all()} if snag.spot else {}
    return {
        "spot_photo": marked_photo(snag, snag.photos.all()),
        "spot_picture": marked_picture(snag, pictures),
    }
