"""Work done in forks of this process, a few at once, each with a copy of the test database of its own."""

import os
import pickle
import resource
import shutil
import signal
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from django.db import connections

PATIENCE = 900  # seconds for one fork, whatever it waits for
Work = tuple[object, Callable[[], object], float]  # its name, what to do, and the CPU seconds it may take


def in_forks(
    works: Iterable[Work], at_once: int, has_database: bool, patience: float = PATIENCE
) -> Iterator[tuple[object, object]]:
    """(name, answer) of each as it ends; None where it never did."""
    running: dict[int, tuple[object, Path, float]] = {}
    for name, work, seconds in works:
        while len(running) >= at_once:
            yield _ended(running, patience)
        folder = Path(tempfile.mkdtemp())
        running[_start(work, seconds, folder, has_database)] = name, folder, time.monotonic()
    while running:
        yield _ended(running, patience)


def _start(work: Callable[[], object], seconds: float, folder: Path, has_database: bool) -> int:
    if has_database:
        connections.close_all()  # no connection is shared with a fork
    if pid := os.fork():
        return pid
    try:
        os.setpgid(0, 0)  # what it starts ends with it
        resource.setrlimit(resource.RLIMIT_CPU, (int(seconds) + 1, int(seconds) + 2))
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 1)
        os.dup2(quiet, 2)
        if has_database:
            _own_database(folder)
        (folder / "answer").write_bytes(pickle.dumps(work()))
    finally:
        os._exit(0)


def _own_database(folder: Path) -> None:
    database = connections["default"].settings_dict
    shutil.copy(database["NAME"], folder / "test.sqlite3")
    database["NAME"] = str(folder / "test.sqlite3")


def _ended(running: dict, patience: float) -> tuple[object, object]:
    while True:
        for pid, (name, folder, began) in running.items():
            late = time.monotonic() - began > patience
            if late:
                os.kill(pid, signal.SIGKILL)
            if os.waitpid(pid, 0 if late else os.WNOHANG)[0]:
                del running[pid]
                _end_group(pid)
                answer = folder / "answer"
                result = pickle.loads(answer.read_bytes()) if answer.exists() else None
                shutil.rmtree(folder, ignore_errors=True)
                return name, result
        time.sleep(0.02)


def _end_group(pid: int) -> None:
    try:
        os.killpg(pid, signal.SIGKILL)
    except ProcessLookupError:
        return
