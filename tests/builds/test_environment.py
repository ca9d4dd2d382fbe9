"""Settings from the environment: strict, and all told in the contributors' guide."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.exceptions import ImproperlyConfigured

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
