"""Zipped documents (spreadsheets, word processors) looked at before anything in them is unpacked."""

import io
import re
import zipfile

from django.utils.translation import gettext as _

from builds.guides.guide_file.size_limits import has_long_directory
from builds.guides.parts_import.errors import UnreadableFile

MAX_FILE = 20_000_000
MAX_ENTRIES, MAX_UNPACKED, MAX_RATIO = 2_000, 100_000_000, 200
FREE = 2_000_000  # bytes of a part of any ratio: a small sheet of the same cells packs well
# Elements of all XML: each takes a reader 40 µs and a kilobyte, a workbook's less, since it is read row by row.
MAX_ELEMENTS, MAX_CELLS = 200_000, 1_500_000
CHUNK = 2**20
_DECLARED = re.compile(rb"<!(?:DOCTYPE|ENTITY)", re.IGNORECASE)
_ENTITY = re.compile(rb"<!ENTITY", re.IGNORECASE)
_PICTURE = re.compile(r"(?:media|Pictures|Thumbnails)/[^/]+\.(?:png|jpe?g|gif|bmp|tiff?|webp|emf|wmf)", re.IGNORECASE)
_DRAWING = re.compile(r"(?:media|Pictures|Thumbnails)/[^/]+\.svg", re.IGNORECASE)
# How pictures begin (ISO/IEC 15948, ITU-T T.81, TIFF 6.0, RFC 9649 and others): XML never does.
_BEGINNINGS = (
    b"\x89PNG",
    b"\xff\xd8\xff",
    b"GIF8",
    b"BM",
    b"II*\0",
    b"MM\0*",
    b"RIFF",
    b"\x01\0\0\0",
    b"\xd7\xcd\xc6\x9a",
)
_ACTIVE = re.compile(r"vbaProject|externalLinks?/|activeX|/?Basic/|/?Scripts/|macrosheets", re.IGNORECASE)


def open_package(raw: bytes) -> zipfile.ZipFile:
    """The zip of a document that is safe to unpack. Raises UnreadableFile."""
    if len(raw) > MAX_FILE:
        raise UnreadableFile(_("This file is larger than 20 MB."))
    if has_long_directory(raw):
        raise UnreadableFile(_("This file holds more files than any document does."))
    try:
        archive = zipfile.ZipFile(io.BytesIO(raw))
        _refuse_unsafe(archive)
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError, ValueError) as error:
        if isinstance(error, UnreadableFile):
            raise
        raise UnreadableFile(_("This file is damaged or has a password. Save it again without one.")) from error
    return archive


def _refuse_unsafe(archive: zipfile.ZipFile) -> None:
    entries = archive.infolist()
    if len(entries) > MAX_ENTRIES or sum(entry.file_size for entry in entries) > MAX_UNPACKED:
        raise UnreadableFile(_("This file is larger than 100 MB when unpacked."))
    if any(e.file_size > FREE and e.file_size > MAX_RATIO * max(1, e.compress_size) for e in entries):
        raise UnreadableFile(_("This file unpacks to far more than its size. Save it again, or paste the rows."))
    if any(_ACTIVE.search(entry.filename) for entry in entries):
        raise UnreadableFile(_("This file has macros or links to other files. Save it without them."))
    _refuse_expanding(archive, [e for e in entries if not _is_picture(archive, e)])


def _is_picture(archive: zipfile.ZipFile, entry: zipfile.ZipInfo) -> bool:
    """By what it begins with, too: a document may name any of its entries as its text."""
    if not _PICTURE.search(entry.filename):
        return False
    with archive.open(entry) as file:
        return file.read(8).startswith(_BEGINNINGS)


def _refuse_expanding(archive: zipfile.ZipFile, entries) -> None:
    """Whatever may be read as XML, by whatever name: no document types of its own, wherever they stand and in whatever
    encoding, since entities expand; and no more elements than can be read in seconds. A drawing declares the type of
    its format, which alone expands nothing."""
    elements = 0
    most = MAX_CELLS if any(e.filename == "xl/workbook.xml" for e in entries) else MAX_ELEMENTS
    for entry in entries:
        with archive.open(entry) as part:
            before = b""
            while chunk := part.read(CHUNK):
                plain = before + chunk.replace(b"\0", b"")  # UTF-16 has a NUL beside each letter of these words
                if (_ENTITY if _DRAWING.search(entry.filename) else _DECLARED).search(plain):
                    raise UnreadableFile(_("This file declares its own document types, which is not accepted."))
                elements += chunk.count(b"<") - chunk.count(b"</")
                if elements > most:
                    raise UnreadableFile(
                        _("This file has too many cells or paragraphs. Save only the part you need, and upload that.")
                    )
                before = plain[-10:]
