"""Django's SQLite, with the writers of the site in line (line.py): transactions, and single statements that write."""

import re
import time
from contextlib import contextmanager

from django.db.backends.sqlite3 import base

from builds.operations.sqlite.line import find_line

WRITES = re.compile(r"\s*(INSERT|UPDATE|DELETE|REPLACE)\b", re.IGNORECASE)
LEAST = 0.1  # s that the database itself is tried for when the time was spent in the line


class Cursor(base.SQLiteCursorWrapper):
    """A statement that writes outside a transaction is a transaction by itself."""

    wrapper: "DatabaseWrapper"

    def execute(self, query, params=None):
        if self.connection.in_transaction or not WRITES.match(query):
            return super().execute(query, params)
        with self.wrapper.a_turn():
            return super().execute(query, params)

    def executemany(self, query, param_list):
        if self.connection.in_transaction or not WRITES.match(query):
            return super().executemany(query, param_list)
        with self.wrapper.a_turn():
            return super().executemany(query, param_list)


class DatabaseWrapper(base.DatabaseWrapper):
    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self._in_line = self._is_short = False
        self._patience = self._usual = float(self.settings_dict.get("OPTIONS", {}).get("timeout", 5))

    @contextmanager
    def patience(self, seconds: float):
        """Wait no longer than this for the right to write, meanwhile."""
        self.ensure_connection()
        self._patience = seconds
        self._busy_timeout(seconds)
        try:
            yield
        finally:
            self._patience = self._usual
            if self.connection is not None:
                self._busy_timeout(self._usual)

    @contextmanager
    def a_turn(self):
        """One's turn to write, for as long as the block lasts."""
        self._enter()
        try:
            yield
        finally:
            self._leave()

    def create_cursor(self, name=None):
        cursor = self.connection.cursor(factory=Cursor)
        cursor.wrapper = self
        return cursor

    def _start_transaction_under_autocommit(self):
        self._enter()
        try:
            super()._start_transaction_under_autocommit()
        except BaseException:
            self._leave()
            raise

    def _commit(self):
        super()._commit()
        self._leave()  # not where it failed: a rollback follows

    def _rollback(self):
        try:
            super()._rollback()
        finally:
            self._leave()

    def _close(self):
        try:
            super()._close()
        finally:
            self._leave()

    def _enter(self) -> None:
        if self._in_line or self.is_in_memory_db():
            return
        began = time.monotonic()
        self._in_line = find_line(str(self.settings_dict["NAME"])).enter(self._patience)
        if not self._in_line:
            self._is_short = True
            self._busy_timeout(max(self._patience - (time.monotonic() - began), LEAST))

    def _leave(self) -> None:
        if self._in_line:
            self._in_line = False
            find_line(str(self.settings_dict["NAME"])).leave()
        elif self._is_short and self.connection is not None:
            self._is_short = False
            self._busy_timeout(self._patience)

    def _busy_timeout(self, seconds: float) -> None:
        self.connection.execute(f"PRAGMA busy_timeout = {int(seconds * 1000)}")
