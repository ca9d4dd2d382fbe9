"""Which tests the suite on PostgreSQL repeats.

The suite on SQLite notes what each test asks its database, where TEST_STORE names a folder for it. Of the tests that
ask the same, PostgreSQL gets a few: every statement is asked by at least LEAST tests, or by all that ask it. One
that failed, or that was given a value that databases take differently, counts as another one. Tests that really
commit, and all that noted nothing, are repeated always. Order is looked after on SQLite (tests/settings.py).
"""

import json
import re
from collections import Counter
from contextlib import ExitStack
from hashlib import sha256
from pathlib import Path

import pytest
from django.db import DatabaseError, connection

LEAST = 3
LISTED = re.compile(r"%s(?:, %s)+")
NUMBER = re.compile(r"\d+")


class Noted:
    """A plugin that notes the statements of every test, one file for each worker."""

    def __init__(self, folder: Path, worker: str):
        folder.mkdir(exist_ok=True)
        self.path, self.kinds = folder / f"{worker}.jsonl", {}

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item, nextitem):
        if not item.get_closest_marker("database"):
            return (yield)
        asked = Counter()
        with ExitStack() as stack:
            stack.enter_context(connection.execute_wrapper(self._noting(asked)))
            answer = yield
        with self.path.open("a") as file:
            file.write(json.dumps([item.nodeid, asked]) + "\n")
        return answer

    def _noting(self, asked: Counter):
        def note(execute, sql, params, many, context):
            key = self._kind_of(sql) + odd_values(() if many else params or ())
            try:
                answer = execute(sql, params, many, context)
            except DatabaseError:
                asked[key + " failed"] += 1
                raise
            asked[key] += 1
            return answer

        return note

    def _kind_of(self, sql: str) -> str:
        """A short name of a statement, whatever its numbers and however long its lists."""
        if sql not in self.kinds:
            plain = NUMBER.sub("0", LISTED.sub("%s", sql))
            self.kinds[sql] = sha256(plain.encode()).hexdigest()[:12]
        return self.kinds[sql]


def odd_values(params) -> str:
    """What of these values one database takes and another one refuses."""
    found = set()
    for value in params:
        if isinstance(value, str):
            found |= {"nul"} if "\0" in value else set()
            found |= {"long"} if len(value) > 250 else set()
            found |= {"half"} if any("\ud800" <= letter <= "\udfff" for letter in value) else set()
        elif isinstance(value, int):
            found |= {"large"} if abs(value) >= 2**31 else set()
        elif isinstance(value, float):
            found |= {"endless"} if value - value != 0 else set()
    return " ".join(["", *sorted(found)])


def noted(folder: Path) -> dict[str, Counter]:
    """Test -> how often it asked each statement."""
    lines = [line for path in sorted(folder.glob("*.jsonl")) for line in path.read_text().splitlines()]
    return {test: Counter(asked) for test, asked in map(json.loads, lines)}


def repeated(asked: dict[str, Counter], least: int = LEAST) -> set[str]:
    """The tests to repeat: the longest are left out first, while all that they ask is asked often enough."""
    times = Counter(statement for statements in asked.values() for statement in statements)
    left = set(asked)
    for test in sorted(asked, key=lambda test: (-asked[test].total(), test)):
        if all(times[statement] > least for statement in asked[test]):
            left.discard(test)
            times.subtract(dict.fromkeys(asked[test], 1))
    return left
