"""Zipped documents (spreadsheets, word processors) looked at before anything in them is unpacked."""

import io
import re
import zipfile

from django.utils.translation import gettext as _

from builds.guides.parts_import.errors import UnreadableFile

MAX_FILE = 20_000_000
MAX_ENTRIES, MAX_UNPACKED, MAX_RATIO = 2_000, 100_000_000, 200
FREE = 2_000_000  # bytes of a part of any ratio: a small sheet of the same cells packs well
# Elements of all XML: each takes a reader 40 µs and a kilobyte, a workbook's less, since it is read row by row.
MAX_ELEMENTS, MAX_CELLS = 200_000, 1_500_000
CHUNK = 2**20
_DECLARED = re.compile(rb"<!(?:DOCTYPE|ENTITY)", re.IGNORECASE)
_PICTURE = re.compile(
    r"(?:media|Pictures|Thumbnails)/[^/]+\.(?:png|jpe?g|gif|bmp|tiff?|webp|svg|emf|wmf)", re.IGNORECASE
)
_ACTIVE = re.compile(r"vbaProject|externalLinks?/|activeX|/?Basic/|/?Scripts/|macrosheets", re.IGNORECASE)


def open_package(raw: bytes) -> zipfile.ZipFile:
    """The zip of a document that is safe to unpack. Raises UnreadableFile."""
    if len(raw) > MAX_FILE:
        raise UnreadableFile(_("This file is larger than 20 MB."))
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
    _refuse_expanding(archive, [e for e in entries if not _PICTURE.search(e.filename)])


def _refuse_expanding(archive: zipfile.ZipFile, entries) -> None:
    """Whatever may be read as XML, by whatever name: no document types of its own, wherever they stand and in whatever
    encoding, since entities expand; and no more elements than can be read in seconds."""
    elements = 0
    most = MAX_CELLS if any(e.filename == "xl/workbook.xml" for e in entries) else MAX_ELEMENTS
    for entry in entries:
        with archive.open(entry) as part:
            before = b""
            while chunk := part.read(CHUNK):
                plain = before + chunk.replace(b"\0", b"")  # UTF-16 has a NUL beside each letter of these words
                if _DECLARED.search(plain):
                    raise UnreadableFile(_("This file declares its own document types, which is not accepted."))
                elements += chunk.count(b"<") - chunk.count(b"</")
                if elements > most:
                    raise UnreadableFile(
                        _("This file has too many cells or paragraphs. Save only the part you need, and upload that.")
                    )
                before = plain[-10:]
