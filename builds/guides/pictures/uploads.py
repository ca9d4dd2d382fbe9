"""Pictures that come several at once: each gets a plain name, and each bad one is told by its own."""

import re

from django.utils.translation import gettext as _

from builds.guides.guide_file.errors import GuideErrors
from builds.guides.guide_file.unpack import MAX_PICTURE, check_picture
from builds.guides.pictures.saving import replace_picture

MOST = 60  # files of one upload
PASTED = "pasted"  # the stem a browser's script gives to what has no name of its own


def add_uploads(draft, files) -> tuple[list[str], list[str]]:
    """(names of pictures that are in the draft now, what is wrong with the others). Same name: replaced."""
    added: list[str] = []
    wrong: list = []
    if len(files) > MOST:
        return [], [_("These are more than %(most)d pictures. Add them in smaller groups.") % {"most": MOST}]
    taken = set(draft.pictures.values_list("name", flat=True))
    for file in files:
        try:
            name = _name(file.name, taken, added)
            raw = _read(file)
            check_picture(name, raw)
        except GuideErrors as error:
            wrong.append(f"{file.name[:60]}: {error}")
        except ValueError as error:
            wrong.append(f"{file.name[:60]}: {error}")
        else:
            replace_picture(draft, name, raw)
            added.append(name)
    return added, wrong


def _read(file) -> bytes:
    if file.size > MAX_PICTURE:
        raise ValueError(_("This picture is larger than 8 MB."))
    return file.read()


def _name(file_name: str, taken: set[str], added: list[str]) -> str:
    """The file's name in letters, digits, - and _. Two of one upload, and what was pasted, never replace another."""
    stem, _dot, ending = file_name.rpartition(".")
    if ending.lower() not in ("png", "jpg", "jpeg"):
        raise ValueError(_("Only PNG and JPEG pictures are accepted."))
    plain = re.sub(r"[^A-Za-z0-9_-]+", "-", stem).strip("-_")[:60] or "picture"
    used = {*added, *(taken if plain == PASTED else ())}
    names = (f"{plain}{number}.{ending.lower()}" for number in ("", *(f"-{n}" for n in range(2, 1_000))))
    return next(name for name in names if name not in used)
