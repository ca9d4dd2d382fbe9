"""SQLite's write-ahead log is folded back by one connection only.

SQLite before 3.51.3 has a rare fault in which two connections that fold the log back at the same moment can damage the
database (sqlite.org/wal.html, "the WAL-reset bug"). So the connections of the site never do (wal_autocheckpoint=0 in
environment.py); the process of `manage.py work` does it every few seconds, alone.
"""

import fcntl
import logging
import sqlite3
from pathlib import Path

from django.conf import settings
from django.db import connection

PATIENCE = 2  # s, in line and for readers to end
log = logging.getLogger(__name__)


def checkpoint() -> bool:
    """Fold the log back; False where another process is doing it, or there is no such log.

    RESTART holds the writers' lock meanwhile, so that nobody begins the log anew at the same moment; where readers are
    in its way it gives up soon and tries at the next round.
    """
    if connection.vendor != "sqlite":
        return False
    with (Path(settings.DATA_DIR) / "checkpoint.lock").open("w") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        with connection.patience(PATIENCE), connection.a_turn(), connection.cursor() as cursor:
            cursor.execute("PRAGMA wal_checkpoint(RESTART)")
    return True


def keep_log_open() -> sqlite3.Connection | None:
    """An idle connection, to be held by a process that serves; None where there is no such log.

    The index of the log is a file that SQLite makes with the first connection and deletes with the last. On a full disk
    it can't be made again, and then nothing can be read either: not even the order to switch off could be judged.
    """
    if connection.vendor != "sqlite":
        return None
    try:
        held = sqlite3.connect(connection.settings_dict["NAME"], check_same_thread=False)
        held.execute("PRAGMA wal_autocheckpoint=0")
        held.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except sqlite3.Error as error:
        log.warning("the database could not be held open: %s", error)
        return None
    return held
