"""How many outside values the core of checks/ is held to, and that each says where it is from."""

import ast
from pathlib import Path

import pytest

from tests.references.reader import named, row, rows

HERE = Path(__file__).parent
CORE = ("test_codes_values.py", "test_measuring_values.py", "test_derived_values.py")


def asked_for(path: Path) -> list[dict]:
    """The reference rows a test file names in its calls of rows() and row()."""
    results = {}
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("rows", "row"):
            names = [a.value for a in node.args if isinstance(a, ast.Constant)]
            for r in [row(names[0])] if node.func.id == "row" and names else rows(*names) if names else []:
                results[r["id"]] = r
    return list(results.values())


def leaves(value) -> int:
    if isinstance(value, dict):
        return sum(leaves(v) for v in value.values())
    return sum(leaves(v) for v in value) if isinstance(value, list) else 1


ROWS = [r for name in CORE for r in asked_for(HERE / name)]


def test_the_core_is_held_to_150_outside_values_or_more():
    assert len({r["id"] for r in ROWS}) >= 120
    assert sum(leaves(r["expected"]) for r in ROWS) >= 150


@pytest.mark.parametrize("r", ROWS, ids=named)
def test_every_value_says_where_it_is_from_and_how_sure_that_is(r):
    assert len(r["source"]) > 10
    assert (
        r["sureness"].startswith(("seen", "computed", "from memory", "inputs", "THD", "NIST"))
        or "memory" in r["sureness"]
    )
