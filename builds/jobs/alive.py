"""While a job runs: a sign of life every few seconds, and an end when it takes too long."""

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager

from django.conf import settings
from django.db import DatabaseError, connection
from django.utils import timezone

HEARTBEAT = 10  # s


class OutOfTime(BaseException):
    """Not an Exception: a job that shields itself from errors is ended all the same."""


@contextmanager
def alive(mine, field: str = "seen_at") -> Iterator[None]:
    """Note in `field` that the row of the queryset `mine` is being worked on, from a thread with a connection of its
    own. Where the page itself does the work there is nobody to be told."""
    if "immediate" in settings.TASKS["default"]["BACKEND"]:
        yield
        return
    ended = threading.Event()
    thread = threading.Thread(target=_beat, args=(mine, field, ended), daemon=True)
    thread.start()
    try:
        yield
    finally:
        ended.set()
        thread.join(HEARTBEAT)


def _beat(mine, field: str, ended: threading.Event) -> None:
    while not ended.wait(HEARTBEAT):
        try:
            mine.update(**{field: timezone.now()})
        except DatabaseError:  # the next beat may get through
            continue
    connection.close()


@contextmanager
def time_limit(seconds: int) -> Iterator[None]:
    """Raise OutOfTime in what runs too long. Only a process's main thread can be ended so; a worker's is one."""
    if threading.current_thread() is not threading.main_thread() or not hasattr(signal, "SIGALRM"):
        yield
        return
    before = signal.signal(signal.SIGALRM, _end)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def _end(_signal, _frame):
    raise OutOfTime
