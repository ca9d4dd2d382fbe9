"""Which tests the suite on PostgreSQL repeats.

The suite on SQLite notes what each test asks its database, where TEST_STORE names a folder for it. Of the tests that
ask the same, PostgreSQL gets a few: every statement of the site is asked by at least LEAST tests, or by all that ask
it. One that failed, or that was given a value that databases take differently, counts as another one. What the server
of a browser test asks in its own threads is noted with the test; what a test asks by itself, to set up and to look, is
not, unless it is refused or changes the tables. Tests of several writers at once (`concurrent`, and those
that commit without a browser), and all that noted nothing, are repeated always. Order is looked after on SQLite
(tests/settings.py).
"""

import json
import os
import re
import sys
import threading
from collections import Counter
from collections.abc import Container
from contextlib import ExitStack
from hashlib import sha256
from pathlib import Path

import pytest
from django.db import DatabaseError, connection
from django.db.backends.signals import connection_created

LEAST = 2
LISTED = re.compile(r"%s(?:, %s)+")
ROWS = re.compile(r"\((%s(?:::\w+)?)\)(?:, \(%s(?:::\w+)?\))+")
CASES = re.compile(r"(WHEN \([^()]*\) THEN (?:%s|\(?CAST\(%s AS [^()]*\)\)?))(?: \1)+")
SITE = str(Path(__file__).resolve().parents[1] / "builds") + os.sep
TABLES = ("CREATE", "ALTER", "DROP")
NUMBER = re.compile(r"\d+")


class Noted:
    """A plugin that notes the statements of every test, one file for each worker."""

    def __init__(self, folder: Path, worker: str):
        folder.mkdir(exist_ok=True)
        self.path, self.kinds = folder / f"{worker}.jsonl", {}
        self.asked, self.is_served = None, False  # of the test that runs; has it a server?
        connection_created.connect(self.note_other_threads)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item, nextitem):
        if not item.get_closest_marker("database"):
            return (yield)
        self.asked = asked = Counter()
        self.is_served = "live_server" in item.fixturenames
        with ExitStack() as stack:
            stack.enter_context(connection.execute_wrapper(self.note))
            answer = yield
        self.asked = None
        with self.path.open("a") as file:
            file.write(json.dumps([item.nodeid, asked]) + "\n")
        return answer

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef, request):
        """The tables are made once a run, on every database: no test asks that."""
        if fixturedef.argname != "django_db_setup":
            return (yield)
        kept, self.asked = self.asked, None
        answer = yield
        self.asked = kept
        return answer

    def note_other_threads(self, connection, **more):
        if threading.current_thread() is not threading.main_thread():
            connection.execute_wrappers.append(self.note_served)

    def note_served(self, execute, sql, params, many, context):
        """A page that a browser test left open may still ask for something while the next test runs."""
        ask = self.note if self.is_served else (lambda execute, *call: execute(*call))
        return ask(execute, sql, params, many, context)

    def note(self, execute, sql, params, many, context):
        asked = Counter() if self.asked is None else self.asked
        key = self._kind_of(sql) + odd_values(() if many else params or ())
        try:
            answer = execute(sql, params, many, context)
        except DatabaseError:
            asked[key + " failed"] += 1
            raise
        if by_the_site() or sql.lstrip().upper().startswith(TABLES):
            asked[key] += 1
        return answer

    def _kind_of(self, sql: str) -> str:
        """A short name of a statement, whatever its numbers, however long its lists and however many its rows."""
        if sql not in self.kinds:
            plain = NUMBER.sub("0", CASES.sub(r"\1", ROWS.sub(r"(\1)", LISTED.sub("%s", sql))))
            self.kinds[sql] = sha256(plain.encode()).hexdigest()[:12]
        return self.kinds[sql]


def by_the_site() -> bool:
    """Is code of the site at work, and not only the test?"""
    frame = sys._getframe(1)
    while frame is not None:
        if frame.f_code.co_filename.startswith(SITE):
            return True
        frame = frame.f_back
    return False


def odd_values(params) -> str:
    """What of these values one database takes and another one refuses."""
    result = set()
    for value in params:
        if isinstance(value, str):
            result |= {"nul"} if "\0" in value else set()
            result |= {"long"} if len(value) > 250 else set()
            result |= {"half"} if any("\ud800" <= letter <= "\udfff" for letter in value) else set()
        elif isinstance(value, int):
            result |= {"large"} if abs(value) >= 2**31 else set()
        elif isinstance(value, float):
            result |= {"endless"} if value - value != 0 else set()
    return " ".join(["", *sorted(result)])


def noted(folder: Path) -> dict[str, Counter]:
    """Test -> how often it asked each statement."""
    lines = [line for path in sorted(folder.glob("*.jsonl")) for line in path.read_text().splitlines()]
    return {test: Counter(asked) for test, asked in map(json.loads, lines)}


def repeated(asked: dict[str, Counter], dear: Container[str] = (), least: int = LEAST) -> set[str]:
    """The tests to repeat: the dear, then the longest are left out first, while what they ask is asked often enough."""
    times = Counter(statement for statements in asked.values() for statement in statements)
    left = set(asked)
    for test in sorted(asked, key=lambda test: (test not in dear, -asked[test].total(), test)):
        if all(times[statement] > least for statement in asked[test]):
            left.discard(test)
            times.subtract(dict.fromkeys(asked[test], 1))
    return left
