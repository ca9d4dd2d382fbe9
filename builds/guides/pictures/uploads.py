"""Pictures that come several at once: each gets a plain name, and each bad one is told by its own."""

import re
from dataclasses import dataclass, field

from django.db import transaction
from django.utils.translation import gettext as _

from builds.guides.guide_file.errors import GuideErrors
from builds.guides.guide_file.unpack import MAX_PICTURE, check_picture
from builds.guides.pictures.saving import replace_picture
from builds.guides.revisions import hold

MOST = 60  # files of one upload
PASTED = "pasted"  # the stem a browser's script gives to what has no name of its own


@dataclass
class Uploads:
    """What came of an upload. `renamed`: (name of the file, name it got) where somebody else's picture had its name."""

    added: list[str] = field(default_factory=list)
    replaced: list[str] = field(default_factory=list)
    renamed: list[tuple[str, str]] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)

    @property
    def names(self) -> list[str]:
        return [*self.added, *self.replaced, *(name for _asked_name, name in self.renamed)]


def newest_picture(draft) -> int:
    """What a page that adds pictures has seen: a picture that is put in later has a greater number."""
    return draft.pictures.order_by("-pk").values_list("pk", flat=True).first() or 0


def add_uploads(draft, files, seen: int) -> Uploads:
    """Add pictures, in the place of those with the same name; but a picture that came after `seen`, which this person
    has not looked at, stays, and theirs gets another name beside it."""
    made = Uploads()
    if len(files) > MOST:
        made.wrong = [_("You chose more than %(most)d pictures. Add them in smaller groups.") % {"most": MOST}]
        return made
    for file in files:
        try:
            asked_name, raw = _plain_name(file.name), _read(file)
            check_picture(asked_name, raw)
        except (GuideErrors, ValueError) as error:
            made.wrong.append(f"{file.name[:60]}: {error}")
        else:
            _put(draft, asked_name, raw, seen, made)
    return made


@transaction.atomic
def _put(draft, asked_name: str, raw: bytes, seen: int, made: Uploads) -> None:
    hold(draft.kit_id)
    there = dict(draft.pictures.values_list("name", "pk"))
    is_unseen = there.get(asked_name, 0) > seen and asked_name not in made.names
    is_pasted = asked_name.startswith(f"{PASTED}.")
    name = _free(asked_name, {*made.names, *(there if is_unseen or is_pasted else ())})
    replace_picture(draft, name, raw)
    if is_unseen and not is_pasted:
        made.renamed.append((asked_name, name))
    else:
        (made.replaced if name in there else made.added).append(name)


def _read(file) -> bytes:
    if file.size > MAX_PICTURE:
        raise ValueError(_("This picture is larger than 8 MB."))
    return file.read()


def _plain_name(file_name: str) -> str:
    """The file's name in letters, digits, - and _."""
    stem, _dot, ending = file_name.rpartition(".")
    if ending.lower() not in ("png", "jpg", "jpeg"):
        raise ValueError(_("Only PNG and JPEG pictures are accepted."))
    return f"{re.sub(r'[^A-Za-z0-9_-]+', '-', stem).strip('-_')[:60] or 'picture'}.{ending.lower()}"


def _free(name: str, used: set[str]) -> str:
    stem, _dot, ending = name.rpartition(".")
    names = (f"{stem}{number}.{ending}" for number in ("", *(f"-{n}" for n in range(2, 1_000))))
    return next(name for name in names if name not in used)
