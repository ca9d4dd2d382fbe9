"""A site that several tests start from is made by the first of them; the others get its rows and its files back.

For tests that really commit, on SQLite. Each has the tables for itself and is cleared after it as ever; only what it
starts from is not made again. Whoever needs a site first makes it while the others wait, whichever worker they are of.
"""

import json
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from fcntl import LOCK_EX, flock
from pathlib import Path

from django.conf import settings
from django.db import connection, transaction

from tests.clearing import thawed

ROWS, FILES, FACTS = "rows.sqlite3", "files", "facts.json"
OWN_TABLES = ("django_migrations",)  # of the database, not of the site


def kept_site(folder: Path, make: Callable[[], dict]) -> dict:
    """What `make` answered (as JSON), with its rows in the tables, which are empty before, and its files in place."""
    if connection.vendor != "sqlite":
        return make()
    folder.mkdir(parents=True, exist_ok=True)
    with (folder / "lock").open("w") as lock:
        flock(lock, LOCK_EX)
        facts = folder / FACTS
        if facts.exists():
            _bring_back(folder)
        else:
            made = json.dumps(make())
            _keep(folder)
            facts.write_text(made)  # last: a site half made is made again
        return json.loads(facts.read_text())


def _keep(folder: Path) -> None:
    (folder / ROWS).unlink(missing_ok=True)
    connection.ensure_connection()
    with closing(sqlite3.connect(folder / ROWS)) as copy:
        connection.connection.backup(copy)
    shutil.rmtree(folder / FILES, ignore_errors=True)
    media = Path(settings.MEDIA_ROOT)
    media.mkdir(parents=True, exist_ok=True)
    shutil.copytree(media, folder / FILES)


def _bring_back(folder: Path) -> None:
    """Rows go from file to file, whatever their types."""
    shutil.copytree(folder / FILES, settings.MEDIA_ROOT, dirs_exist_ok=True)
    tables = [name for name in connection.introspection.table_names() if name not in OWN_TABLES]
    with connection.cursor() as cursor:
        cursor.execute("ATTACH DATABASE %s AS kept", [str(folder / ROWS)])
        try:
            with thawed(), connection.constraint_checks_disabled(), transaction.atomic():
                for table in map(connection.ops.quote_name, tables):
                    cursor.execute(f"DELETE FROM main.{table}")
                    cursor.execute(f"INSERT INTO main.{table} SELECT * FROM kept.{table}")
        finally:
            cursor.execute("DETACH DATABASE kept")
    connection.check_constraints()
