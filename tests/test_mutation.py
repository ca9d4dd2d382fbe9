"""The mutation run itself: it changes what it says, and a change that no test could miss is noticed."""

import ast
import gc
import sys
from importlib import import_module
from pathlib import Path

import pytest

from checks.quantity import parse_quantity
from tests.mutation.__main__ import TESTS
from tests.mutation.lines import Lines
from tests.mutation.mutants import mutants_of
from tests.mutation.patching import NotByConstants, NotByFunctions, caches, rebind, take_up
from tests.mutation.survival import all_that_survive

SOURCE = '''
"""Docstring 1."""
def passes(x: int = 3, strict=True) -> bool:
    """Not 7."""
    if not strict:
        return x <= 2 + 1
    return x < 2 and x > -5
'''


def test_every_kind_of_change_is_made_and_docstrings_are_left_alone():
    result = mutants_of(SOURCE)
    assert {m.change for m in result} >= {"LtE becomes Lt", "Add becomes Sub", "And is the other", "not is dropped"}
    assert len({m.source for m in result}) == len(result)
    for mutant in result:
        assert "Docstring 1." in mutant.source and "Not 7." in mutant.source
        ast.parse(mutant.source)


def test_a_call_and_a_condition_of_a_query_are_left_out():
    source = "def f(rows, who):\n    check(who)\n    return rows.filter(owner=who, is_open=True)\n"
    changed = {m.change: m.source for m in mutants_of(source)}
    assert "check" not in changed["check() is not called"]
    assert "owner" not in changed["filter() does not ask for owner"]
    assert "owner" in changed["filter() does not ask for is_open"]


def test_what_says_nothing_of_a_rule_is_not_changed():
    assert not mutants_of("from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    x = 1\n")
    assert not mutants_of("def f(a, b):\n    yield from zip(a, b, strict=True)\n")


def test_a_change_has_the_lines_of_its_statement_and_of_one_with_a_body_those_of_its_head():
    source = "def f(x):\n    if (x\n            > 1):\n        return x + (\n            2)\n    return x\n"
    lines = {m.change: m.lines for m in mutants_of(source)}
    assert lines["Gt becomes GtE"] == range(2, 4) and lines["Add becomes Sub"] == range(4, 6)


RULE = """
LIMIT = 10
TWICE = 2 * LIMIT
def is_over(x):
    return x > LIMIT
def reach():
    return [x for x in range(30) if x < TWICE]
class Kept:
    size: int = 3
    @property
    def half(self):
        return self.size / 2
"""


@pytest.fixture
def rule(tmp_path, monkeypatch):
    """A module, and one that imported its names."""
    (tmp_path / "rule_of_the_test.py").write_text(RULE)
    (tmp_path / "user_of_the_test.py").write_text("from rule_of_the_test import LIMIT, Kept, is_over\n")
    monkeypatch.syspath_prepend(tmp_path)
    yield import_module("rule_of_the_test"), import_module("user_of_the_test")
    for name in ("rule_of_the_test", "user_of_the_test"):
        del sys.modules[name]


def test_a_changed_function_changes_for_whoever_imported_it(rule):
    module, user = rule
    assert not user.is_over(10)
    assert take_up(RULE, ast.unparse(ast.parse(RULE)).replace("x > LIMIT", "x >= LIMIT"), module.__file__) == 1
    assert user.is_over(10)
    take_up(RULE, ast.unparse(ast.parse(RULE)).replace("size / 2", "size * 2"), module.__file__)
    assert user.Kept().half == 6


@pytest.fixture
def thawed():
    """As in a mutation run: what the tests' set-up keeps from the collector is not found by it."""
    gc.unfreeze()
    yield
    gc.freeze()


@pytest.mark.lengthy
@pytest.mark.usefixtures("thawed")
def test_answers_cached_before_a_change_are_found_to_be_forgotten():
    before = parse_quantity("7.25", "V")
    assert parse_quantity("7.25", "V") is before
    for cache in caches():
        cache.cache_clear()
    assert parse_quantity("7.25", "V") is not before


def test_a_changed_constant_changes_where_it_was_imported_and_what_is_made_of_it(rule):
    module, user = rule
    rebind(RULE, ast.unparse(ast.parse(RULE)).replace("LIMIT = 10", "LIMIT = 11"), module.__file__)
    assert (user.LIMIT, module.TWICE, len(module.reach())) == (11, 22, 22) and not user.is_over(11)


def test_what_is_neither_a_function_nor_a_constant_is_left_to_a_process_of_its_own(rule):
    changed = ast.unparse(ast.parse(RULE)).replace("size: int = 3", "size: int = 4")
    with pytest.raises(NotByFunctions):
        take_up(RULE, changed, rule[0].__file__)
    with pytest.raises(NotByConstants):
        rebind(RULE, changed, rule[0].__file__)


def test_only_lines_that_were_run_are_noted(rule):
    module, before = rule[0], sys.gettrace()
    lines = Lines({module.__file__})
    lines.begin()
    module.is_over(1)
    lines.end()
    sys.settrace(before)
    assert lines.taken() == {(module.__file__, 5)} and lines.taken() == set()


@pytest.mark.slow
def test_a_mutant_that_breaks_every_verdict_does_not_survive_and_no_change_does():
    changed = ["raise ArithmeticError", Path("checks/safety.py").read_text()]
    tried = [(source, TESTS["checks.safety"]) for source in changed]
    assert all_that_survive("checks.safety", tried, jobs=1) == [False, True]
