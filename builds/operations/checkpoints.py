"""SQLite's write-ahead log is folded back by one connection only.

SQLite before 3.51.3 has a rare fault in which two connections that fold the log back at the same moment can damage the
database (sqlite.org/wal.html, "the WAL-reset bug"). So the connections of the site never do (wal_autocheckpoint=0 in
environment.py); the process of `manage.py work` does it every few seconds, alone.
"""

import fcntl
from pathlib import Path

from django.conf import settings
from django.db import connection

PATIENCE = 2  # s, in line and for readers to end


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
