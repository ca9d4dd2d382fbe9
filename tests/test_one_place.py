"""A rule or a table has one place: what would be a second one is refused here."""

import ast
import re
from pathlib import Path

import pytest

from checks.measures import MEASURES, OHMS, VOLTS
from checks.outcomes import Outcome

ROOT = Path(__file__).resolve().parent.parent
FILES = [p for top in ("builds", "checks") for p in sorted((ROOT / top).rglob("*.py")) if "migrations" not in p.parts]
OUTCOMES = {outcome.value for outcome in Outcome}
# The same words with another meaning: a limit's outcome, an advice, an entry of the glossary.
OTHER_WORDS = {"checks/derived.py", "checks/diagnosis/advice.py", "builds/ui/messages/glossary.py"}
HOMES_OF_OUTCOMES = {"checks/outcomes.py", "builds/ui/messages/outcomes.py"}
SYMBOLS = {"✓", "≈", "✗", "■"}


def strings_of(tree: ast.Module) -> list[ast.Constant]:
    """All texts of a module but its docstrings."""
    documented = (ast.Module, ast.ClassDef, ast.FunctionDef)
    docs = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, documented) and node.body and isinstance(node.body[0], ast.Expr)
    }
    return [n for n in ast.walk(tree) if isinstance(n, ast.Constant) and isinstance(n.value, str) and id(n) not in docs]


def places(expected) -> set[str]:
    """file:line of every text that `wanted` is true of."""
    return {
        f"{path.relative_to(ROOT)}:{text.lineno}"
        for path in FILES
        for text in strings_of(ast.parse(path.read_text()))
        if expected(text.value)
    }


def outside(found: set[str], homes: set[str]) -> set[str]:
    return {place for place in found if place.partition(":")[0] not in homes}


@pytest.mark.lengthy
def test_an_outcome_is_written_out_where_outcomes_live_and_nowhere_else():
    written = places(lambda text: text in OUTCOMES)
    assert {place.partition(":")[0] for place in written} >= HOMES_OF_OUTCOMES
    assert not outside(written, HOMES_OF_OUTCOMES | OTHER_WORDS)


@pytest.mark.lengthy
def test_a_table_by_outcome_has_one_home():
    """Symbol, class and label of an outcome: a second dict of all four would be a second place."""
    tables = {
        f"{path.relative_to(ROOT)}:{node.lineno}"
        for path in FILES
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Dict) and {v.value for v in ast.walk(node) if isinstance(v, ast.Constant)} >= SYMBOLS
    }
    assert len(tables) == 1 and not outside(tables, HOMES_OF_OUTCOMES)


@pytest.mark.lengthy
def test_a_family_of_quantities_is_named_in_the_table_of_quantities():
    """A tuple of two or more volts, or of two or more ohms, lists a family by hand: a new quantity would miss it."""

    def lists_a_family(node) -> bool:
        if not isinstance(node, ast.Tuple | ast.List | ast.Set):
            return False
        names = {each.value for each in node.elts if isinstance(each, ast.Constant)}
        return any(names >= set(family) for family in (VOLTS, OHMS))

    listed = {
        f"{path.relative_to(ROOT)}:{node.lineno}"
        for path in FILES
        for node in ast.walk(ast.parse(path.read_text()))
        if lists_a_family(node)
    }
    assert not outside(listed, {"checks/measures.py"})
    assert set(VOLTS) | set(OHMS) <= set(MEASURES)


@pytest.mark.parametrize("kind", ["class Case", "def natural"])
def test_a_rule_that_was_once_written_twice_is_written_once(kind):
    homes = [path for path in FILES if re.search(rf"^{kind}\b", path.read_text(), re.MULTILINE)]
    assert len(homes) == 1


@pytest.mark.lengthy
def test_no_module_reads_english_of_its_own():
    """Texts that a reader sees are made last: what is asked is the code. A text of two words or more that is looked
    for in another would be such a question."""
    asked = {
        f"{path.relative_to(ROOT)}:{node.lineno}"
        for path in FILES
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Compare)
        and isinstance(node.ops[0], ast.In | ast.NotIn)
        and isinstance(node.left, ast.Constant)
        and isinstance(node.left.value, str)
        and re.search(r"[a-z] [a-z]", node.left.value)
    }
    # Django's own sentence for an address whose pattern matched and whose row does not exist; SQLite's for a busy file.
    assert not outside(asked, {"builds/accounts/views.py", "builds/jobs/waiting.py"})
