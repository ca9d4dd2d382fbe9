"""The power fails: what is left of the files is opened again.

With synchronous=FULL, SQLite says that a commit is done when the log is on disk (sqlite.org/pragma.html, "synchronous",
and sqlite.org/wal.html): so what was acknowledged when the log had a length is there in every copy cut at that length
or later, whatever torn sector follows."""

import shutil
import sqlite3
from collections.abc import Iterator
from pathlib import Path

TORN = 4096  # bytes that a disk may have been writing
TABLES = ("reading", "madesafe", "snag", "fittedvalve", "message", "receipt")


class Copies:
    """Takes copies of a database, spoils them, and tells which keys are in them and how often."""

    def __init__(self, database: Path, folder: Path):
        self.database, self.folder = database, folder

    @property
    def log(self) -> Path:
        return self.database.with_name(self.database.name + "-wal")

    def log_bytes(self) -> int:
        return self.log.stat().st_size if self.log.exists() else 0

    def cut(self, rng) -> tuple[int, dict[str, int]]:
        """(where the log was cut, key -> rows) of a copy whose log ends somewhere, often in rubbish."""
        whole = self.log.read_bytes() if self.log.exists() else b""
        length = rng.randint(0, len(whole))
        tail = rng.randbytes(rng.randint(1, TORN)) if rng.random() < 0.5 else b""
        return length, self._open(self.database.read_bytes(), whole[:length] + tail)

    def torn_checkpoint(self, rng, fold) -> dict[str, int]:
        """key -> rows of a copy taken while `fold` was folding the log back: some pages are written, some are not, one
        is half."""
        before, log = self.database.read_bytes(), self.log.read_bytes() if self.log.exists() else b""
        fold()
        after = self.database.read_bytes()
        return self._open(b"".join(_mixed(rng, before, after)), log)

    def _open(self, database: bytes, log: bytes) -> dict[str, int]:
        copy = self.folder / "copy.sqlite3"
        for old in self.folder.glob("copy.sqlite3*"):
            old.unlink()
        copy.write_bytes(database)
        (self.folder / "copy.sqlite3-wal").write_bytes(log)
        with sqlite3.connect(copy) as opened:
            said = opened.execute("PRAGMA quick_check").fetchone()[0]
            assert said == "ok", f"the database left by a power failure is damaged: {said}"
            assert opened.execute("PRAGMA foreign_key_check").fetchone() is None
            counts = dict(_counts(opened))
        opened.close()
        return counts


def _counts(opened) -> Iterator[tuple[str, int]]:
    for table in TABLES:
        yield from opened.execute(f"SELECT entry_key, count(*) FROM bench_{table} GROUP BY entry_key")


def _mixed(rng, before: bytes, after: bytes, page: int = 4096) -> Iterator[bytes]:
    half = rng.randrange(max(1, len(after) // page))
    for number in range(-(-len(after) // page)):
        old, new = (content[number * page : (number + 1) * page] for content in (before, after))
        if number == half:
            yield new[: page // 2] + old[page // 2 :]
        elif number * page < len(before):
            yield rng.choice((old, new))
        else:
            yield new if rng.random() < 0.5 else b""  # the file had not grown so far
            if number * page >= len(before) and rng.random() < 0.5:
                return


def remove(folder: Path) -> None:
    shutil.rmtree(folder, ignore_errors=True)
