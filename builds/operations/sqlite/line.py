"""The writers of one SQLite database stand in line, over all threads and processes of the site.

SQLite has one writer at a time; whoever finds it busy tries again at random, ever less often, so that under load some
wait for many seconds while others pass by. Here they wait their turn: in a process first come, first served; between
processes whoever is next holds one file's lock while waiting for the other's, so that nobody passes. The system frees
both locks when a process is killed. The line is only about who is next: what keeps the data right is SQLite's own lock,
and whoever's turn does not come in time tries without.
"""

import fcntl
import os
import time
from collections import deque
from pathlib import Path
from threading import Lock

SHORTEST, LONGEST = 0.0002, 0.001  # s between two looks at another process's lock


class Line:
    """The line before one database file, as one process sees it."""

    def __init__(self, database: str):
        self.database = Path(database)
        self._reset()

    def _reset(self) -> None:
        self._pid = os.getpid()
        self._guard = Lock()
        self._taken = False
        self._waiting: deque[Lock] = deque()
        self._files: list[int] = []

    def enter(self, seconds: float) -> bool:
        """Wait for one's turn. False where it does not come in time, or there can be no line here; the database may be
        tried all the same."""
        if self._pid != os.getpid():  # forked: neither threads nor locks came along
            self._reset()
        until = time.monotonic() + seconds
        if not self._first_in_process(seconds):
            return False
        try:
            if self._first_of_all(until):
                return True
        except OSError:  # a folder that cannot be written to
            pass
        self._next_in_process()
        return False

    def leave(self) -> None:
        if self._pid != os.getpid():
            return
        fcntl.flock(self._files[1], fcntl.LOCK_UN)
        self._next_in_process()

    def _first_in_process(self, seconds: float) -> bool:
        with self._guard:
            if not self._taken:
                self._taken = True
                return True
            mine = Lock()
            mine.acquire()
            self._waiting.append(mine)
        if mine.acquire(timeout=max(seconds, 0)):
            return True
        with self._guard:
            if mine not in self._waiting:  # the turn came at the last moment
                return True
            self._waiting.remove(mine)
            return False

    def _next_in_process(self) -> None:
        with self._guard:
            if self._waiting:
                self._waiting.popleft().release()
            else:
                self._taken = False

    def _first_of_all(self, until: float) -> bool:
        if not self._files:
            self._files = [self._open("next"), self._open("writes")]
        following, writing = self._files
        if not _lock(following, until):
            return False
        try:
            return _lock(writing, until)
        finally:
            fcntl.flock(following, fcntl.LOCK_UN)

    def _open(self, name: str) -> int:
        path = self.database.with_name(f"{self.database.name}.{name}")
        return os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)


def _lock(file: int, until: float) -> bool:
    pause = SHORTEST
    while True:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            return True
        except BlockingIOError:
            if time.monotonic() > until:
                return False
        time.sleep(pause)
        pause = min(pause * 1.5, LONGEST)


_lines: dict[str, Line] = {}
_making = Lock()


def find_line(database: str) -> Line:
    """The one line of this process before a database file."""
    with _making:
        return _lines.setdefault(database, Line(database))
