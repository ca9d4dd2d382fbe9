"""The mutation run itself: it changes what it says, and a change that no test could miss is noticed."""

import ast
from pathlib import Path

import pytest

from tests.mutation.__main__ import TESTS
from tests.mutation.mutants import mutants_of
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


@pytest.mark.slow
def test_a_mutant_that_breaks_every_verdict_does_not_survive_and_no_change_does():
    changed = ["raise ArithmeticError", Path("checks/safety.py").read_text()]
    assert all_that_survive("checks.safety", changed, TESTS["checks.safety"], jobs=1) == [False, True]
