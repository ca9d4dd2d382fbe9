"""Pictures, photos and recordings of a kit that is read in: each is looked at for what it claims to be before it is
kept, and taken away again where the rows do not get in."""

import io
from pathlib import PurePosixPath
from uuid import uuid4

from django.core.files import File
from django.core.files.storage import default_storage
from PIL import Image

from builds.guides.guide_file.size_limits import MAX_PIXELS
from builds.guides.models import Picture
from builds.operations.transfer.archive import CHUNK, Reader
from builds.operations.transfer.errors import TransferError

HEADS = {".wav": (b"RIFF", b"RF64"), ".flac": (b"fLaC",)}
PICTURES = (".png", ".jpg", ".jpeg")
FOLDERS = {"guides.Picture": "guides", "bench.Photo": "photos", "bench.Recording": "recordings"}
HEAD = 256 * 1024  # bytes that tell a picture's kind and size


class Files:
    """`put` keeps an entry once and gives its name here; `take_back` deletes all that were put."""

    def __init__(self, archive: Reader):
        self.archive = archive
        self.names: dict[str, str] = {}
        self.mark = uuid4().hex

    def put(self, label: str, entry) -> str:
        """Raises TransferError for an entry that is not there or is no picture, photo or recording."""
        if entry == "":
            return ""
        folder = f"{FOLDERS[label]}/{self.mark}"
        if entry is None:  # was missing where it came from; the doctor says so here too
            return f"{folder}/missing-{uuid4().hex}.jpg"
        if not isinstance(entry, str):
            raise TransferError(f"{label} refers to something that is not a file.")
        if entry not in self.names:
            self._examine(label, entry)
            with self.archive.open(entry) as file:
                self.names[entry] = default_storage.save(f"{folder}/{PurePosixPath(entry).name}", File(file, entry))
        return self.names[entry]

    def take_back(self) -> None:
        for name in self.names.values():
            default_storage.delete(name)

    def _examine(self, label: str, entry: str) -> None:
        suffix = PurePosixPath(entry).suffix
        with self.archive.open(entry) as file:
            head = file.read(HEAD if suffix in PICTURES else CHUNK)
        is_sound = label == "bench.Recording"
        if is_sound and head.startswith(HEADS.get(suffix, ())):
            return
        if is_sound or suffix not in PICTURES or not _is_picture(head):
            raise TransferError(f"{entry} is not a {'recording' if is_sound else 'picture'}.")


def _is_picture(head: bytes) -> bool:
    try:
        with Image.open(io.BytesIO(head), formats=("PNG", "JPEG")) as image:
            return image.width * image.height <= 2 * MAX_PIXELS
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        return False


def picture_names_fit(picture: Picture) -> bool:
    """A picture is served by the ending of its name."""
    return PurePosixPath(picture.name).suffix.lower() in PICTURES
