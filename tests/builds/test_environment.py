"""Settings from the environment: strict, and all told in the contributors' guide."""
from pathlib import Path

import pytest
from django.core.exceptions import ImproperlyConfigured

from builds import environment


def test_every_variable_is_in_the_contributors_guide():
    text = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text()
    assert [name for name in environment.VARIABLES if f"`{name}`" not in text] == []


@pytest.mark.parametrize(("name", "value", "ask"), [
    ("DEBUG", "yes", lambda: environment.switch("DEBUG")), ("SECRET_KEY", "short", lambda: environment.secret_key(Path("x"))),
    ("DATABASE_URL", "mysql://x/y", lambda: environment.database(Path("x"))),
    ("DATABASE_URL", "sqlite://", lambda: environment.database(Path("x"))),
    ("DATABASE_URL", "postgresql://host", lambda: environment.database(Path("x"))), ("EMAIL_URL", "ftp://x", environment.email),
    ("TASKS", "later", environment.tasks), ("SITE_URL", "kits.example", environment.site_url),
    ("SITE_URL", "https://x/?a=1", environment.site_url)])
def test_a_wrong_value_stops_the_start_and_names_the_variable(monkeypatch, name, value, ask):
    monkeypatch.setenv(name, value)
    with pytest.raises(ImproperlyConfigured, match=name):
        ask()


def test_postgresql_is_chosen_by_its_address(monkeypatch):
    monkeypatch.setenv("DATABASE_URL", "postgresql://me:p%40ss@db:5433/kits")
    found = environment.database(Path("x"))
    assert (found["ENGINE"], found["USER"], found["PASSWORD"], found["PORT"]) == ("django.db.backends.postgresql", "me", "p@ss", "5433")
