"""The text and the pictures of what somebody uploads as a guide: a guide.toml, or a zip of it with its pictures."""

import io
import re
import zipfile
import zlib
from struct import error as StructError
from typing import NoReturn

from django.utils.translation import gettext as _
from PIL import Image

from builds.guides.guide_file.errors import FileProblem, GuideErrors
from builds.guides.guide_file.size_limits import MAX_PIXELS, refuse_long_directory, refuse_many_pixels

MAX_TEXT, MAX_PICTURE, MAX_TOTAL, MAX_FILES = 3_000_000, 8_000_000, 60_000_000, 300
PICTURE = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,80}\.(png|jpg|jpeg)")
TRANSLATION = re.compile(r"guide\.([a-z]{2,3})\.toml")
UNREADABLE = (
    zipfile.BadZipFile,
    NotImplementedError,
    RuntimeError,
    EOFError,
    OSError,
    ValueError,
    LookupError,
    zlib.error,
    StructError,
)


def unpack(raw: bytes) -> tuple[str, dict[str, str], dict[str, bytes]]:
    """The guide's text, its translations by language, and its pictures by name. Raises GuideErrors.

    Sizes are checked before anything is unpacked.
    """
    if not zipfile.is_zipfile(io.BytesIO(raw)):
        return decode(raw), {}, {}
    refuse_long_directory(raw)
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as archive:
            named = _entries(archive)
            text = decode(_content(archive, named.pop("guide.toml")))
            texts = {name: named.pop(name) for name in [*named] if TRANSLATION.fullmatch(name)}
            translations = {
                match[1]: decode(_content(archive, entry), name)
                for name, entry in texts.items()
                if (match := TRANSLATION.fullmatch(name))
            }
            pictures = {name: _content(archive, entry) for name, entry in named.items()}
    except GuideErrors:
        raise
    except UNREADABLE as error:
        message = _("This zip cannot be unpacked. Make it again, without a password.")
        raise GuideErrors([FileProblem(0, "file", message)]) from error
    refuse_many_pixels(pictures)
    for name, content in pictures.items():
        check_picture(name, content)
    return text, translations, pictures


def decode(raw: bytes, name: str = "file") -> str:
    if len(raw) > MAX_TEXT:
        _refuse(_("The guide's text is larger than 3 MB."), name)
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        _refuse(
            _("This is neither UTF-8 text nor a zip. Accepted: a guide.toml, or a zip of it with its pictures."), name
        )


def check_picture(name: str, raw: bytes) -> tuple[int, int]:
    """Check a picture by decoding it and give its size; the name must be plain, since it becomes part of an address."""
    if not PICTURE.fullmatch(name):
        _refuse(_("A picture's name is letters, digits, - and _, then .png or .jpg."), f"picture {name[:60]}")
    try:
        with Image.open(io.BytesIO(raw), formats=("PNG", "JPEG")) as image:
            if len(raw) > MAX_PICTURE or image.width * image.height > MAX_PIXELS:
                _refuse(_("This picture is larger than 8 MB or 24 million pixels."), f"picture {name}")
            image.load()
            return image.width, image.height
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        if isinstance(error, GuideErrors):
            raise
        _refuse(_("This cannot be read as a PNG or JPEG picture."), f"picture {name}")


def _entries(archive: zipfile.ZipFile) -> dict[str, zipfile.ZipInfo]:
    """The files of an archive by name, checked for number and size."""
    entries = [e for e in archive.infolist() if not e.is_dir() and not _is_clutter(e.filename)]
    if len(entries) > MAX_FILES or sum(e.file_size for e in entries) > MAX_TOTAL:
        _refuse(_("This zip has more than 300 files, or more than 60 MB when unpacked."))
    named = {e.filename.rpartition("/")[2]: e for e in entries}
    if len(named) < len(entries):
        _refuse(_("This zip has two files of the same name in different folders."))
    if "guide.toml" not in named:
        _refuse(_("This zip has no guide.toml."))
    if any(entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED) for entry in entries):
        _refuse(_("This zip cannot be unpacked. Make it again, without a password."))
    if any(entry.file_size > MAX_TEXT for name, entry in named.items() if name.endswith(".toml")):
        _refuse(_("The guide's text is larger than 3 MB."), "guide.toml")
    return named


def _content(archive: zipfile.ZipFile, entry: zipfile.ZipInfo) -> bytes:
    """What an entry holds, unpacked no further than the size it states: a zip may state less than is in it."""
    with archive.open(entry) as file:
        return file.read(entry.file_size)


def _is_clutter(path: str) -> bool:
    """What desktop systems add to a zip by themselves."""
    return path.startswith("__MACOSX/") or path.rpartition("/")[2].startswith(".") or path.endswith("/Thumbs.db")


def _refuse(message: str, key: str = "file") -> NoReturn:
    raise GuideErrors([FileProblem(0, key, message)])
