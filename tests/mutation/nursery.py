"""Mutants tried in forks of one process that has imported the site, collected the tests and made the database.

Each is run against the tests that come to its lines, the quickest first and what has killed before first of all, until
one fails. What is done at import cannot be changed afterwards: those mutants, and those alone, are left to survival.py.
"""

import gc
import sys
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import groupby, pairwise
from pathlib import Path

import pytest
from _pytest.runner import runtestprotocol
from hypothesis import settings

from tests.mutation.forks import in_forks
from tests.mutation.lines import Lines
from tests.mutation.mutants import Mutant
from tests.mutation.patching import NotByConstants, NotByFunctions, caches, functions_of, rebind, take_up

DATABASE = str(Path(__file__).with_name("empty_database.py"))
AT_IMPORT = "at import"
OPTIONS = ["-p", "no:xdist", "-p", "no:cacheprovider", "-o", "addopts=", "-o", "tmp_path_retention_policy=none"]
OPTIONS += ["-qq", "-s", "-m", "not browser and not slow"]

WITHOUT_SITE = ["--noconftest", "--continue-on-collection-errors", "-p", "no:django", "-p", "no:playwright"]


@dataclass(frozen=True)
class Module:
    """A rule module: its file, the paths of the tests that are to hold it, and the mutants to try."""

    name: str
    path: str
    tests: tuple[str, ...]
    mutants: tuple[Mutant, ...]

    def holds(self, item) -> bool:
        return any(Path(test).resolve() in (item.path, *item.path.parents) for test in self.tests)


@dataclass
class Outcome:
    """What became of a mutant: the test that killed it, none, or that it is changed at import; and its tests."""

    module: Module
    mutant: Mutant
    tests: list[str]
    killer: str | None

    def __str__(self) -> str:
        told = f"{len(self.tests)} tests come to it" if self.tests else "no test comes to it"
        return f"{self.module.name} line {self.mutant.line}: {self.mutant.change} ({told})"


@dataclass
class Nursery:
    """The pytest plugin. `outcomes` has every mutant after the run; `unfit` the tests that fail unchanged."""

    modules: list[Module]
    jobs: int
    with_site: bool = True
    outcomes: list[Outcome] = field(default_factory=list)
    unfit: list[str] = field(default_factory=list)

    def run(self) -> None:
        self._lines = Lines({module.path for module in self.modules})
        there = sorted({test for module in self.modules for test in module.tests if Path(test).exists()})
        alone = [] if self.with_site else [*WITHOUT_SITE]
        if alone:
            settings.register_profile("alone", deadline=None)
            settings.load_profile("alone")
        self._lines.begin()
        with tempfile.TemporaryDirectory() as own:  # the common one is cleared by other runs of this machine
            pytest.main([*OPTIONS, *alone, f"--basetemp={own}/files", DATABASE, *there], plugins=[self])

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session):
        gc.unfreeze()  # what is frozen is not found by patching.py
        self._first, *items = session.items
        self._makes_database = any(item.get_closest_marker("database") for item in items)
        if self._makes_database:
            reports = runtestprotocol(self._first, nextitem=items[0], log=False)  # what a session has stays
            assert not any(report.failed for report in reports), [report.longreprtext for report in reports]
        self._lines.end()
        self._imported, self._caches = self._lines.taken(), caches()
        self._note_lines(items)
        self._try_mutants(items)
        return True

    def _note_lines(self, items) -> None:
        """Which lines each test comes to, and how long it takes; each fork runs a share."""
        shares: list[list] = [[] for _ in range(self.jobs)]
        for number, (_path, file) in enumerate(groupby(items, key=lambda item: item.path)):
            shares[number % self.jobs] += file  # a file's tests share what they start from
        works = [(number, lambda share=share: self._noted(share), 36_000.0) for number, share in enumerate(shares)]
        self._seconds, self._comes_to = {}, defaultdict(set)
        for _number, answer in in_forks(works, self.jobs, self._makes_database, patience=36_000):
            for nodeid, (seconds, lines) in answer.items():
                self._seconds[nodeid] = seconds
                for line in lines:
                    self._comes_to[line].add(nodeid)
        self.unfit = [item.nodeid for item in items if item.nodeid not in self._seconds]

    def _noted(self, items) -> dict:
        found = {}
        for item, following in pairwise([*items, self._first]):
            self._forget()
            began = time.process_time()
            self._lines.begin()
            reports = runtestprotocol(item, nextitem=following, log=False)
            self._lines.end()
            lines = self._lines.taken()
            if not any(report.failed for report in reports):
                found[item.nodeid] = time.process_time() - began, lines
        return found

    def _forget(self) -> None:
        """A test comes to a line whether or not another has been there, and a mutant is asked anew."""
        for cache in self._caches:
            cache.cache_clear()

    def _try_mutants(self, items) -> None:
        self._items, self._kills = {item.nodeid: item for item in items}, Counter()
        self._living = {module.path: functions_of(module.path) for module in self.modules}
        gc.freeze()  # no fork goes through what all of them share
        for module in self.modules:
            for (mutant, tests), killer in in_forks(self._works(module), self.jobs, self._makes_database):
                if killer is None:
                    killer = "it never ended"
                elif killer in self._items:
                    self._kills[killer] += 1
                self.outcomes.append(outcome := Outcome(module, mutant, list(tests), killer or None))
                if killer == "":
                    print(f"  not noticed yet: {outcome}", file=sys.stderr, flush=True)

    def _works(self, module: Module) -> Iterator:
        mine = {nodeid for nodeid, item in self._items.items() if module.holds(item)}
        for mutant in module.mutants:
            span = {(module.path, line) for line in mutant.lines}
            at_import = bool(span & self._imported)
            tests = self._tests_of(mine, module, span, at_import)
            seconds = 30 + 5 * sum(self._seconds[test] for test in tests)
            yield (mutant, tests), lambda m=mutant, t=tests, i=at_import: self._tried(module, m, t, i), seconds

    def _tests_of(self, mine: set[str], module: Module, span: set, at_import: bool) -> tuple[str, ...]:
        lines = [line for line in self._comes_to if line[0] == module.path] if at_import else span
        come = set().union(*(self._comes_to.get(line, ()) for line in lines)) & mine
        return tuple(sorted(come, key=lambda test: (-self._kills[test], self._seconds[test])))

    def _tried(self, module: Module, mutant: Mutant, tests: tuple[str, ...], at_import: bool) -> str:
        """In a fork: the test that fails with the mutant, or what else there is to say of it."""
        source = Path(module.path).read_text()
        self._forget()
        try:
            if at_import:
                rebind(source, mutant.source, module.path)
            else:
                take_up(source, mutant.source, module.path, self._living[module.path])
        except (NotByFunctions, NotByConstants):
            return AT_IMPORT
        except Exception:
            return "the import itself"
        for item, following in pairwise([*(self._items[test] for test in tests), self._first]):
            if any(report.failed for report in runtestprotocol(item, nextitem=following, log=False)):
                return item.nodeid
        return AT_IMPORT if at_import else ""  # another module may have made something of the old constant
