"""Which lines of some files are run: by what is imported, and by each test."""

import sys
import threading
from collections.abc import Collection

Line = tuple[str, int]


class Lines:
    """Notes lines of `paths` from `begin` on; `taken` gives those since it was last asked."""

    def __init__(self, paths: Collection[str]):
        self._paths, self._seen = frozenset(paths), set[Line]()

    def begin(self) -> None:
        threading.settrace(self._enter)
        sys.settrace(self._enter)

    def end(self) -> None:
        sys.settrace(None)
        threading.settrace(None)  # type: ignore[arg-type]

    def taken(self) -> set[Line]:
        seen, self._seen = self._seen, set()
        return seen

    def _enter(self, frame, event, arg):
        return self._note if frame.f_code.co_filename in self._paths else None

    def _note(self, frame, event, arg):
        self._seen.add((frame.f_code.co_filename, frame.f_lineno))
        return self._note
