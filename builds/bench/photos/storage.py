"""Photos of a build: their files are written before the rows, and taken away again where the rows do not get in."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from hashlib import sha256
from uuid import UUID, uuid4, uuid5

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.utils import timezone

from builds.bench.models import Photo
from builds.bench.models.photos import photo_path
from builds.bench.photos.decoding import DecodedPhoto, decode_photo, place_in_queue
from checks.errors import ChecksError


@dataclass
class StoredPhoto:
    """The files of a photo that has no row yet."""

    entry_key: UUID
    names: dict[str, str]
    width: int
    height: int
    has_row: bool = False

    def add_row(self, *, build, stage, step=None, check_row=None, snag=None, by=None, at=None) -> Photo:
        place = {"build": build, "stage": stage, "step": step, "check_row": check_row, "snag": snag}
        size = {"width": self.width, "height": self.height}
        at = at or timezone.now()
        row = Photo.objects.create(entry_key=self.entry_key, by=by, at=at, **self.names, **size, **place)
        self.has_row = True
        return row


@contextmanager
def stored_photos(files, build, entry_keys=None) -> Iterator[list[StoredPhoto]]:
    """The photos decoded and on disk, for rows to be added in a transaction. What got no row, or whose transaction was
    rolled back, is deleted again. Raises ChecksError for a file that is no photo."""
    stored: list[StoredPhoto] = []
    try:
        if files:
            with place_in_queue():
                for number, file in enumerate(files):
                    key = entry_keys[number] if entry_keys else uuid4()
                    stored.append(_store(decode_photo(file), build, key))
        yield stored
    except BaseException:
        for photo in stored:
            _delete(photo.names)
        raise
    for photo in stored:
        if not photo.has_row:
            _delete(photo.names)


def _store(decoded: DecodedPhoto, build, key: UUID) -> StoredPhoto:
    names: dict[str, str] = {}
    try:
        for size, content in decoded.copies.items():
            path = photo_path(Photo(build=build), f"{key}-{size}.jpg")
            names[size] = _save(path, content)
    except BaseException:  # a full disk: the sizes that did get in are taken away
        _delete(names)
        raise
    return StoredPhoto(key, names, decoded.width, decoded.height)


def _save(path: str, content: bytes) -> str:
    """The name of the file written. On a full disk the storage leaves one that it began: it is taken away, but not a
    whole one, which another try of the same photo may have written meanwhile."""
    name = default_storage.get_available_name(path)
    try:
        return default_storage.save(name, ContentFile(content))
    except OSError:
        if default_storage.exists(name) and default_storage.size(name) < len(content):
            default_storage.delete(name)
        raise


def _delete(names: dict[str, str]) -> None:
    for name in names.values():
        default_storage.delete(name)


def save_photos(files, *, entry_key, saved: list[Photo], at=None, **place) -> list[str]:
    """Keep the photos of one post, each added to `saved` as soon as it is; says, a sentence for each, which were
    refused. A retry of the post adds none twice. A browser cannot be handed a file back, so nothing is asked again:
    another photo, or another place, under the key of a page that was used before is kept for itself."""
    refused = []
    for file in files:
        try:
            saved.append(save_photo(file, entry_key=_make_key(file, entry_key, place), at=at, **place))
        except ChecksError as error:
            refused.append(f"{file.name}: {error}" if len(files) > 1 else str(error))
    return refused


def _make_key(file, entry_key: UUID, place: dict) -> UUID:
    """One for each photo at each place in one post."""
    where = ";".join(f"{name}={getattr(row, 'pk', row)}" for name, row in sorted(place.items()))
    digest = sha256()
    for chunk in file.chunks():
        digest.update(chunk)
    file.seek(0)
    return uuid5(entry_key, f"{where};{digest.hexdigest()}")


def save_photo(file, *, build, entry_key=None, **place) -> Photo:
    """Keep a photo; the same entry key gives back the photo it made the first time. Raises ChecksError."""
    key = entry_key or uuid4()
    already = Photo.objects.filter(entry_key=key, build=build).first()
    if already:
        return already
    with stored_photos([file], build, [key]) as (photo,):
        return photo.add_row(build=build, **place)
