"""Trying again while the database is locked. On SQLite somebody may hold it longer than anybody is willing to wait."""

import logging
import time
from collections.abc import Callable

from django.db import OperationalError, connection

WAITS = (1, 2, 4, 8, 15)  # s after each refusal, itself after up to 20 s of waiting for the lock
log = logging.getLogger(__name__)


def is_locked(error: BaseException) -> bool:
    return isinstance(error, OperationalError) and "is locked" in str(error).lower()


def until_unlocked(write: Callable[[], object]) -> None:
    """Carry out one write, again and again for a while. Inside a transaction it cannot be repeated alone."""
    for wait in WAITS:
        try:
            write()
            return
        except OperationalError as error:
            if not is_locked(error) or connection.in_atomic_block:
                raise
            log.warning("%s; tried again in %d s", error, wait)
        time.sleep(wait)
    write()
