"""Outside check values, each with its source and how sure it is; one reader for all tests.

`sureness` says where a value comes from: "seen in a stored copy", "computed (…)" or "from memory".
"""

import json
from functools import cache
from pathlib import Path

HERE = Path(__file__).parent


@cache
def _all() -> tuple[dict, ...]:
    return tuple(json.loads((HERE / "check_values.json").read_text()))


def rows(*beginnings: str) -> list[dict]:
    """Rows whose id begins with one of `beginnings`, in the file's order. Raises LookupError when there are none."""
    results = [row for row in _all() if row["id"].startswith(beginnings)]
    if not results:
        raise LookupError(f"no reference values named {beginnings}")
    return results


def row(name: str) -> dict:
    return next(r for r in _all() if r["id"] == name)


def named(found: dict) -> str:
    """A test's id: the row's own, with its source."""
    return f"{found['id']} [{found['source'][:40]}]"
