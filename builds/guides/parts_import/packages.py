"""Zipped documents (spreadsheets, word processors) looked at before anything in them is unpacked."""

import io
import re
import zipfile

from django.utils.translation import gettext as _

from builds.guides.parts_import.errors import UnreadableFile

MAX_FILE = 20_000_000
MAX_ENTRIES, MAX_UNPACKED, MAX_RATIO = 2_000, 100_000_000, 200
FREE = 2_000_000  # bytes of a part of any ratio: a small sheet of the same cells packs well
_DECLARED = re.compile(rb"<!(?:DOCTYPE|ENTITY)", re.IGNORECASE)
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
        raise UnreadableFile(_("This file unpacks to far more than it holds. Save it again, or paste the rows."))
    if any(_ACTIVE.search(entry.filename) for entry in entries):
        raise UnreadableFile(_("This file has macros or links to other files. Save it without them."))
    for entry in entries:
        if entry.filename.lower().endswith((".xml", ".rels", ".rdf")):
            with archive.open(entry) as part:
                if _DECLARED.search(part.read(4_000)):
                    raise UnreadableFile(_("This file declares its own document types, which is not accepted."))
