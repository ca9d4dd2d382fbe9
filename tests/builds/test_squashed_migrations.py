"""A new database is made in one step an app; one that grew migration by migration has the same tables and refusals."""

import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

MIGRATE = """
import django
from django.core.management import call_command
from django.db.migrations.loader import MigrationLoader

load = MigrationLoader.load_disk

def load_one_by_one(loader):
    load(loader)
    loader.disk_migrations = {key: m for key, m in loader.disk_migrations.items() if not m.replaces}

if EVERY:
    MigrationLoader.load_disk = load_one_by_one
django.setup()
call_command("migrate", interactive=False, verbosity=0, skip_checks=True)
"""


def migrated(folder: Path, *, every: bool) -> dict[str, list[str]]:
    """What SQLite keeps of every table, index and trigger; the order of a table's columns says nothing."""
    folder.mkdir()
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "builds.settings", "DATA_DIR": str(folder)}
    environment.pop("DATABASE_URL", None)
    subprocess.run([sys.executable, "-c", MIGRATE.replace("EVERY", str(every))], env=environment, check=True)
    (file,) = folder.glob("*.sqlite3")
    with sqlite3.connect(file) as database:
        rows = database.execute("SELECT type, name, sql FROM sqlite_master WHERE sql IS NOT NULL").fetchall()
    return {f"{kind} {name}": columns(sql) if kind == "table" else [sql] for kind, name, sql in rows}


def columns(sql: str) -> list[str]:
    """The columns and constraints between the outer brackets of a CREATE TABLE."""
    inside = sql[sql.index("(") + 1 : sql.rindex(")")]
    depth, start, found = 0, 0, []
    for at, sign in enumerate(inside):
        depth += {"(": 1, ")": -1}.get(sign, 0)
        if sign == "," and not depth:
            found.append(inside[start:at].strip())
            start = at + 1
    return sorted([*found, inside[start:].strip()])


def test_a_comma_inside_brackets_divides_no_column():
    assert columns('CREATE TABLE "t" ("a" decimal(3, 1) NOT NULL, CHECK ("b" IN (1, 2)), "b" int)') == [
        '"a" decimal(3, 1) NOT NULL',
        '"b" int',
        'CHECK ("b" IN (1, 2))',
    ]


@pytest.mark.slow
def test_a_new_database_is_the_one_that_every_migration_leads_to(tmp_path):
    grown, new = migrated(tmp_path / "grown", every=True), migrated(tmp_path / "new", every=False)
    assert any(name.startswith("trigger ") for name in grown)
    assert set(new) == set(grown)
    assert {name: new[name] for name in new if new[name] != grown[name]} == {}
