"""A PostgreSQL database into one file and back, by the tools that come with PostgreSQL (package postgresql-client)."""

import os
import subprocess
from pathlib import Path

from django.db import connection


class BackupError(Exception):
    """A backup that cannot be made or is not whole, with a sentence for people."""


def dump(path: Path) -> None:
    """The database of the settings, as of one moment, while others write. Raises BackupError."""
    _run(["pg_dump", "--format=custom", "--no-owner", "--no-privileges", "--file", str(path)])
    _run(["pg_restore", "--list", str(path)])  # can it be read?


def load(path: Path) -> None:
    """Fill the database of the settings, which must be empty: whole or not at all. Raises BackupError."""
    if connection.vendor != "postgresql":
        raise BackupError("This is a backup of a PostgreSQL database. Set DATABASE_URL to an empty one.")
    if connection.introspection.table_names():
        raise BackupError("The database in DATABASE_URL already has tables. Create an empty one.")
    connection.close()
    options = ["--no-owner", "--no-privileges", "--exit-on-error", "--single-transaction"]
    _run(["pg_restore", *options, "--dbname", connection.settings_dict["NAME"], str(path)])


def _run(command: list[str]) -> None:
    """Where the database is, and the password, go by the environment: a command line is there for all to read."""
    database = connection.settings_dict
    parts = {f"PG{name}": str(database[key]) for name, key in PARTS.items() if database[key]}
    options = {f"PG{name.upper()}": str(value) for name, value in database["OPTIONS"].items() if name in SSL}
    environment = {**os.environ, **parts, **options}
    try:
        subprocess.run(command, check=True, env=environment, capture_output=True, text=True)
    except FileNotFoundError as error:
        raise BackupError(f"{command[0]} is missing. Install the PostgreSQL client programs.") from error
    except subprocess.CalledProcessError as error:
        raise BackupError(f"{command[0]} says: {error.stderr.strip()[-500:]}") from error


PARTS = {"HOST": "HOST", "PORT": "PORT", "USER": "USER", "PASSWORD": "PASSWORD", "DATABASE": "NAME"}
SSL = ("sslmode", "sslrootcert", "sslcert", "sslkey")
