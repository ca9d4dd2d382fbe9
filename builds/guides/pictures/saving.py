"""Pictures as rows: made from a file, and shown another way. The one place that makes them."""

import io
from hashlib import sha256

from django.core.files.base import ContentFile
from django.db import transaction

from builds.guides.models import Picture
from builds.guides.pictures.draw import find_size, shown_picture

KEYS = ("turn", "crop", "mark")


def make_picture(revision, name: str, raw: bytes, row: dict | None = None) -> Picture:
    """A new row; `row` is its [[picture]] of the guide file, if it has one."""
    width, height = find_size(raw)
    picture = Picture(revision=revision, name=name, width=width, height=height)
    _show(picture, raw, list_changes(row))
    picture.file.save(name, ContentFile(raw))  # saves the row
    return picture


def list_changes(row: dict | None) -> dict | None:
    """What a [[picture]] says beside the name, without what is usual."""
    return {k: v for k, v in (row or {}).items() if k in KEYS and v} or None


def build_row(picture: Picture) -> dict:
    return {"name": picture.name, **(picture.changes or {})}


def show_as(picture: Picture, row: dict | None) -> None:
    """Show a picture that is there another way. Its old copy goes once the transaction is done."""
    changes = list_changes(row)
    if changes == picture.changes:
        return
    storage, old = picture.file.storage, picture.shown.name if picture.shown else ""
    with picture.file.open("rb") as file:
        _show(picture, file.read(), changes)
    picture.save(update_fields=["changes", "shown", "width", "height"])
    if old and old != picture.shown.name:
        transaction.on_commit(lambda: storage.delete(old))


def show_restored(picture: Picture, changes: dict | None) -> None:
    """A row for a stored file that had one before; none where the file is gone by now."""
    try:
        with picture.file.open("rb") as file:
            _show(picture, file.read(), changes)
    except OSError:
        return
    picture.save()


def replace_picture(revision, name: str, raw: bytes) -> Picture:
    """Another file under a name that may be taken; what is done to the picture stays."""
    old = revision.pictures.filter(name=name).first()
    row = build_row(old) if old else None
    if old:
        old.delete()
    return make_picture(revision, name, raw, row)


def _show(picture: Picture, raw: bytes, changes: dict | None) -> None:
    picture.changes = changes
    if changes is None:
        picture.shown = None
        picture.width, picture.height = find_size(raw)
        return
    content, picture.width, picture.height = shown_picture(raw, changes)
    picture.shown.save(f"{sha256(content).hexdigest()[:12]}-{picture.name}", ContentFile(content), save=False)


def unmarked(picture: Picture):
    """A file of the picture turned and cropped as it is shown, without marks: what new marks are drawn over."""
    changes = picture.changes or {}
    if not changes.get("mark"):
        return picture.image.open("rb")
    with picture.file.open("rb") as file:
        return io.BytesIO(shown_picture(file.read(), changes, with_marks=False)[0])
