"""What must hold of a [[picture]] of a guide: its turn, its crop and its marks."""

from django.utils.translation import gettext as _

from builds.guides.guide_file import shape
from builds.guides.guide_file.plain import are_shares
from builds.guides.guide_file.rules import keys_and_types
from builds.guides.pictures.geometry import LEAST, TURNS

MOST = 60  # marks on one picture
LONGEST = {"number": 3, "words": 60}
SIZES = (0.005, 0.5)


def picture_rules(row: dict, pictures):
    if row["name"] not in pictures:
        yield "name", _("The picture %(name)s is not in the file.") % {"name": row["name"]}
    if row.get("turn", 0) not in TURNS:
        yield "turn", _("A picture is turned by 90, 180 or 270 degrees, clockwise.")
    if row.get("crop") and not _is_crop(row["crop"]):
        yield "crop", _("A crop is left, top, right and bottom as fractions of the picture, such as [0.1, 0, 0.9, 1].")
    if len(row.get("mark", [])) > MOST:
        yield "mark", _("A picture has at most %(most)d marks.") % {"most": MOST}
    for mark in row.get("mark", [])[:MOST]:
        yield from (("mark", message) for message in mark_problems(mark))


def _is_crop(crop) -> bool:
    if len(crop) != 4 or not are_shares(crop):
        return False
    left, top, right, bottom = crop
    return right - left >= LEAST and bottom - top >= LEAST


def mark_problems(mark):
    """What is wrong with one mark, as sentences."""
    if not isinstance(mark, dict):
        yield str(shape.WANTED[shape.TABLE])
        return
    wrong = [f"{key}: {message}" for key, message in keys_and_types("mark", mark, shape.MARK)]
    yield from wrong or _inside(mark)


def _inside(mark: dict):
    for key in ("at", "to"):
        if mark.get(key) and not (len(mark[key]) == 2 and are_shares(mark[key])):
            yield _("A place is two fractions of the picture's width and height, such as [0.4, 0.2].")
    what = mark["what"]
    if (what == "arrow") != bool(mark.get("to")):
        yield _("An arrow needs the place it points to; no other mark has one.")
    if what in LONGEST and not str(mark.get("text", "")).strip():
        yield _("A number or text mark needs its text.")
    if len(mark.get("text", "")) > LONGEST.get(what, 0):
        yield _("This text is too long: a number has up to 3 characters, a text mark up to 60, arrows and rings none.")
    if mark.get("size") is not None and (what != "ring" or not SIZES[0] <= mark["size"] <= SIZES[1]):
        yield _("Only a ring has a size: its radius as a fraction of the picture's width, from 0.005 to 0.5.")
