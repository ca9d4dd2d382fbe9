"""Emptying PostgreSQL's tables after a test that really commits.

TRUNCATE makes every table, index and sequence a new file, some three hundred in all, however few rows a test left: half
a second beside a twentieth for DELETE. Triggers and foreign keys are left out meanwhile, which a superuser may do; for
anyone else the tables are truncated as ever.
"""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from django.db import connection
from django.db.backends.base.operations import BaseDatabaseOperations


@contextmanager
def quick_flush() -> Iterator[None]:
    if connection.vendor != "postgresql":
        yield
        return
    operations: type[BaseDatabaseOperations] = type(connection.ops)
    truncate = operations.sql_flush

    def delete(ops, style, tables, **more) -> list[str]:
        if not tables or more.get("reset_sequences") or not _is_superuser():
            return truncate(ops, style, tables, **more)
        orders = [f"DELETE FROM {ops.quote_name(table)}" for table in tables]
        role = "SET LOCAL session_replication_role = "
        return ["; ".join([role + "replica", *orders, role + "origin"])]  # in one message

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(operations, "sql_flush", delete)
        yield


def _is_superuser() -> bool:
    with connection.cursor() as cursor:
        cursor.execute("SELECT rolsuper FROM pg_roles WHERE rolname = current_user")
        return bool(cursor.fetchone()[0])
