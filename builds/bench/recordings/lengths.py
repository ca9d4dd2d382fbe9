"""Whether a sound file holds as many samples as its header says: fewer were cut off, more would be left out unseen.

WAV after the RIFF specification (1991), RF64 after EBU Tech 3306, FLAC after RFC 9639. A streaming recorder leaves the
length of a WAV open (all ones): then what is there counts.
"""

import struct
from collections.abc import Iterator

import soundfile

OPEN = 0xFFFFFFFF
LONGEST_HEADER = 1 << 20  # bytes in which a FLAC stream begins, after tags of others
TOTAL = slice(18, 26)  # bytes from the stream's mark: the last 36 bits are the number of samples


def is_whole(file, container: str, frames: int) -> bool:
    """Does an open binary file hold as many samples as its header says? It is left anywhere."""
    if container == "FLAC":
        return not _goes_on(file, frames) and _can_read_to(file, frames)
    return _wav_is_whole(file)


def _wav_is_whole(file) -> bool:
    """The data chunk lies within the file, and nothing but chunks comes after it."""
    end = file.seek(0, 2)
    has_data = False
    for name, begins, size in _chunks(file, end):
        if name == b"data":
            has_data = True
            if size == OPEN:
                return True
        elif has_data and not (name.isascii() and name.decode().isprintable()):
            return False
        if begins + size > end:
            return False
    return has_data


def _chunks(file, end: int) -> Iterator[tuple[bytes, int, int]]:
    """(name, first byte, length) of each chunk; an RF64's own length of its data stands in the ds64 chunk."""
    at, long_data = 12, 0
    while at + 8 <= end:
        file.seek(at)
        name, size = struct.unpack("<4sI", file.read(8))
        if name == b"ds64" and size >= 16:
            long_data = struct.unpack("<8xQ", file.read(16))[0]
        if name == b"data" and size == OPEN and long_data:
            size = long_data
        yield name, at + 8, size
        at += 8 + size + size % 2


def _can_read_to(file, frames: int) -> bool:
    """Is the last sample there that the header counts?"""
    file.seek(0)
    try:
        with soundfile.SoundFile(file) as sound:
            sound.seek(frames - 1)
            return len(sound.read(1)) == 1
    except (soundfile.LibsndfileError, RuntimeError):
        return False


def _goes_on(file, frames: int) -> bool:
    """Is there another sample after those that a FLAC header counts? Asked with one more in the header."""
    file.seek(0)
    begins = file.read(LONGEST_HEADER).find(b"fLaC")
    if begins < 0:
        return True
    more = _OneMore(file, begins)
    try:
        with soundfile.SoundFile(more) as sound:
            sound.seek(frames)
            return len(sound.read(1)) > 0
    except (soundfile.LibsndfileError, RuntimeError):
        return False


class _OneMore:
    """A FLAC file as it would be with one sample more in its header."""

    def __init__(self, file, begins: int):
        self.file = file
        file.seek(begins + TOTAL.start)
        fields = int.from_bytes(file.read(TOTAL.stop - TOTAL.start), "big")
        self.bytes = (fields + 1).to_bytes(TOTAL.stop - TOTAL.start, "big")
        self.at = begins + TOTAL.start
        file.seek(0)

    def seek(self, *where) -> int:
        return self.file.seek(*where)

    def tell(self) -> int:
        return self.file.tell()

    def read(self, size: int = -1) -> bytes:
        first = self.file.tell()
        data = bytearray(self.file.read(size))
        for n, byte in enumerate(self.bytes):
            if first <= self.at + n < first + len(data):
                data[self.at + n - first] = byte
        return bytes(data)
