"""The file itself: a zip of rows as JSON lines and of pictures, photos and recordings, with a checksum of each entry.
An entry is found by what SHA256SUMS names; everything is checked before anything of it is used."""

import hashlib
import json
import re
import struct
import zlib
from collections.abc import Iterator
from pathlib import Path
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from builds.operations.transfer.errors import TransferError

FORMAT = 1
SUMS, HEAD, PEOPLE = "SHA256SUMS", "kit.json", "people.jsonl"
ROWS = "rows/%s.jsonl"
NAME = re.compile(r"kit\.json|people\.jsonl|rows/[a-z]+\.[A-Za-z]+\.jsonl|files/\d{1,9}\.(?:png|jpe?g|wav|flac)")
UNREADABLE = (BadZipFile, OSError, RuntimeError, NotImplementedError, EOFError, ValueError, zlib.error, struct.error)
CHUNK = 2**20
MOST_ENTRIES = 400_000
LONGEST_DIRECTORY = 60 * 2**20  # bytes of the zip's list of entries
LARGEST_FILE = 250 * 2**20  # bytes of a picture, photo or recording
LARGEST_ROWS = 8 * 2**30  # bytes of all rows together
LONGEST_LINE = 8 * 2**20  # bytes of one row
MOST_PACKED = 200  # how many times larger than packed an entry may be


class Writer:
    """Writes entries one after the other and notes their sums."""

    def __init__(self, out):
        self.zip = ZipFile(out, "w", ZIP_DEFLATED, allowZip64=True)
        self.sums: list[str] = []

    def lines(self, name: str, rows) -> int:
        """Write rows as JSON lines; says how many."""
        count, digest = 0, hashlib.sha256()
        with self.zip.open(name, "w", force_zip64=True) as entry:
            for row in rows:
                count += 1
                line = (json.dumps(row, ensure_ascii=False, allow_nan=False) + "\n").encode()
                digest.update(line)
                entry.write(line)
        self._note(name, digest)
        return count

    def copied(self, name: str, file) -> None:
        """Copy an open file; what is a picture or sound packs no smaller."""
        digest, info = hashlib.sha256(), ZipInfo(name)
        info.compress_type = ZIP_STORED
        with self.zip.open(info, "w", force_zip64=True) as entry:
            while chunk := file.read(CHUNK):
                digest.update(chunk)
                entry.write(chunk)
        self._note(name, digest)

    def close(self) -> None:
        self.zip.writestr(SUMS, "".join(self.sums))
        self.zip.close()

    def _note(self, name: str, digest) -> None:
        self.sums.append(f"{digest.hexdigest()}  {name}\n")


class Reader:
    """An archive that was checked as a whole. Raises TransferError for one that is damaged or made to do harm."""

    def __init__(self, path: Path):
        try:
            _refuse_long_directory(path)
            self.zip = ZipFile(path)
            self.entries = _checked_entries(self.zip, path.stat().st_size)
            self._check_sums()
        except UNREADABLE as error:
            raise TransferError(f"This file cannot be read as a kit: {error}") from error

    def __enter__(self):
        return self

    def __exit__(self, *_error):
        self.zip.close()

    def lines(self, name: str) -> Iterator[dict]:
        """The rows of an entry, one in memory at a time."""
        if name not in self.entries:
            raise TransferError(f"{name} is missing from the file.")
        with self.zip.open(name) as entry:
            number = 0
            while line := entry.readline(LONGEST_LINE + 1):
                number += 1
                yield _row(line, f"{name}, line {number}")

    def open(self, name: str):
        if name not in self.entries or not name.startswith("files/"):
            raise TransferError(f"{str(name)[:80]!r} is missing from the file.")
        return self.zip.open(name)

    def _check_sums(self) -> None:
        with self.zip.open(SUMS) as entry:
            listed = dict(_sum(line.decode()) for line in entry)
        if set(listed) != set(self.entries):
            raise TransferError("The list of checksums does not match the contents of the file.")
        for name, digest_listed in listed.items():
            digest = hashlib.sha256()
            with self.zip.open(name) as entry:
                while chunk := entry.read(CHUNK):
                    digest.update(chunk)
            if digest.hexdigest() != digest_listed:
                raise TransferError(f"{name} is damaged: its checksum differs.")


def _sum(line: str) -> tuple[str, str]:
    digest, gap, name = line.rstrip("\n").partition("  ")
    if not gap:
        raise TransferError("The list of checksums cannot be read.")
    return name, digest


def _row(line: bytes, where: str) -> dict:
    if len(line) > LONGEST_LINE:
        raise TransferError(f"{where} is too long.")
    try:
        row = json.loads(line, parse_constant=_refuse_constant)
    except (ValueError, RecursionError) as error:
        raise TransferError(f"{where} cannot be read: {str(error)[:200]}") from error
    if not isinstance(row, dict):
        raise TransferError(f"{where} is not a row.")
    return row


def _refuse_constant(word: str):
    raise ValueError(f"{word} is not a number")


def _refuse_long_directory(path: Path) -> None:
    """A zip's list of entries is read whole into memory: its length stands at the end (PKWARE's APPNOTE, 4.3.14 to
    4.3.16)."""
    with path.open("rb") as file:
        file.seek(max(0, path.stat().st_size - 65_557 - 76))
        tail = file.read()
    end = tail.rfind(b"PK\x05\x06")
    if end < 0 or len(tail) < end + 22:
        raise TransferError("This file is not a kit: it is no zip.")
    size = struct.unpack_from("<L", tail, end + 12)[0]
    large = tail.rfind(b"PK\x06\x06", 0, end)
    if large >= 0 and len(tail) >= large + 48:
        size = max(size if size != 0xFFFFFFFF else 0, struct.unpack_from("<Q", tail, large + 40)[0])
    if size > LONGEST_DIRECTORY:
        raise TransferError("This file lists too many entries to be a kit.")


def _checked_entries(archive: ZipFile, size: int) -> dict[str, ZipInfo]:
    """By name. Sizes are what the zip says; no more than that is ever unpacked of an entry."""
    entries = archive.infolist()
    names = {info.filename for info in entries}
    if len(entries) > MOST_ENTRIES or len(names) < len(entries):
        raise TransferError("This file has too many entries, or two of one name.")
    if SUMS not in names or HEAD not in names:
        raise TransferError("This file is not a kit: it has no list of checksums or no head.")
    rows = 0
    for info in entries:
        if info.filename != SUMS and not NAME.fullmatch(info.filename):
            raise TransferError(f"An entry of a kit is never called {info.filename[:80]!r}.")
        is_file = info.filename.startswith("files/")
        if info.compress_type not in (ZIP_STORED, ZIP_DEFLATED):
            raise TransferError(f"{info.filename} is packed in a way that a kit never is.")
        rows += 0 if is_file else info.file_size
        if info.file_size > (LARGEST_FILE if is_file else LARGEST_ROWS) or rows > LARGEST_ROWS:
            raise TransferError(f"{info.filename} is too large.")
        if info.file_size > MOST_PACKED * info.compress_size + CHUNK:
            raise TransferError(f"{info.filename} unpacks to far more than it holds.")
    return {info.filename: info for info in entries if info.filename != SUMS}
