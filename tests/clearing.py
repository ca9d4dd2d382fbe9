"""Clearing the tables after a test that really commits."""

from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module

from django.apps import apps
from django.core.management import call_command
from django.db import connection

EVENTS = import_module("builds.accounts.migrations.0005_events_stay")
FROZEN = import_module("builds.guides.migrations.0002_freeze")


def clear_though_frozen() -> None:
    """SQLite clears the tables after such a test by DELETE, which the frozen revision's triggers rightly refuse.

    So they are cleared here, without the triggers for that moment. PostgreSQL truncates and needs none of this.
    """
    if connection.vendor == "sqlite":
        with thawed():
            call_command("flush", verbosity=0, interactive=False, inhibit_post_migrate=True)


@contextmanager
def thawed() -> Iterator[None]:
    """SQLite without the triggers that keep rows as they are."""
    with connection.schema_editor() as editor:
        FROZEN.thaw(apps, editor)
        EVENTS.let_go(apps, editor)
    try:
        yield
    finally:
        with connection.schema_editor() as editor:
            FROZEN.freeze(apps, editor)
            EVENTS.guard(apps, editor)
