"""Settings from the environment: strict, and all told in the contributors' guide."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.db.utils import ConnectionHandler

from builds import environment

HOUSE = Path(__file__).parents[2]


def test_every_variable_is_in_the_contributors_guide():
    text = (HOUSE / "DEVELOPERS.md").read_text()
    assert [name for name in environment.VARIABLES if f"`{name}`" not in text] == []


@pytest.mark.parametrize(
    ("name", "value", "ask"),
    [
        ("DEBUG", "yes", lambda: environment.switch("DEBUG")),
        ("SECRET_KEY", "short", lambda: environment.secret_key(Path("x"))),
        ("DATABASE_URL", "mysql://x/y", lambda: environment.database(Path("x"))),
        ("DATABASE_URL", "sqlite://", lambda: environment.database(Path("x"))),
        ("DATABASE_URL", "postgresql://host", lambda: environment.database(Path("x"))),
        ("EMAIL_URL", "ftp://x", environment.email),
        ("DATABASE_URL", "postgresql://host:many/x", lambda: environment.database(Path("x"))),
        ("DATABASE_URL", "sqlite:////no/such/folder/x.db", lambda: environment.database(Path("x"))),
        ("EMAIL_URL", "smtp://host:99999", environment.email),
        ("DATA_DIR", "/dev/null/x", lambda: environment.folder("DATA_DIR", Path("x"))),
        ("CSRF_TRUSTED_ORIGINS", "kits.example.org", lambda: environment.origins("CSRF_TRUSTED_ORIGINS")),
        ("CSRF_TRUSTED_ORIGINS", "https://a.example/x", lambda: environment.origins("CSRF_TRUSTED_ORIGINS")),
        ("ALLOWED_HOSTS", "https://kits.example.org", lambda: environment.hosts("ALLOWED_HOSTS", "")),
        ("TASKS", "later", environment.tasks),
        ("SITE_URL", "kits.example", environment.site_url),
        ("SITE_URL", "https://x/?a=1", environment.site_url),
    ],
)
def test_a_wrong_value_stops_the_start_and_names_the_variable(monkeypatch, name, value, ask):
    monkeypatch.setenv(name, value)
    with pytest.raises(ImproperlyConfigured, match=name):
        ask()


@pytest.mark.lengthy
def test_the_start_stops_with_one_sentence():
    made = subprocess.run(
        [sys.executable, "manage.py", "check"],
        cwd=HOUSE,
        env={**os.environ, "DEBUG": "yes"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert made.returncode == 1 and made.stderr == "DEBUG is 'yes'; it takes on or off.\n"


def test_postgresql_is_chosen_by_its_address(monkeypatch):
    monkeypatch.setenv("DATABASE_URL", "postgresql://me:p%40ss@db:5433/kits")
    settings_of = environment.database(Path("x"))
    assert (settings_of["ENGINE"], settings_of["USER"], settings_of["PASSWORD"], settings_of["PORT"]) == (
        "django.db.backends.postgresql",
        "me",
        "p@ss",
        "5433",
    )


@pytest.mark.django_db
def test_sqlite_waits_for_the_disk_at_every_commit(tmp_path):
    """What the trial of power cuts takes for granted, while tests themselves wait for no disk: 2 is FULL, with which a
    transaction of the write-ahead log survives a power cut (sqlite.org/pragma.html#pragma_synchronous)."""
    own = ConnectionHandler({"default": environment.database(tmp_path)})["default"]
    try:
        with own.cursor() as cursor:
            answers = [cursor.execute(f"PRAGMA {name}").fetchone()[0] for name in ("synchronous", "journal_mode")]
    finally:
        own.close()
    assert answers == [2, "wal"]
