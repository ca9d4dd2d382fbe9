"""The house's two rules: checks/ stands alone, and arrows point one way."""

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent


@pytest.mark.lengthy
def test_import_contracts_are_kept():
    script = Path(sys.executable).parent / "lint-imports"
    done = subprocess.run([script, "--no-cache"], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout


@pytest.mark.lengthy
def test_an_import_of_django_in_checks_would_be_seen():
    """The contract names what it forbids, so that a rename cannot empty it."""
    text = (ROOT / "pyproject.toml").read_text()
    assert 'forbidden_modules = ["django", "builds"]' in text
    for path in (ROOT / "checks").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Import | ast.ImportFrom):
                names = [a.name for a in node.names] if isinstance(node, ast.Import) else [node.module or ""]
                assert not any(n.split(".")[0] in ("django", "builds") for n in names), path


def test_files_stay_under_300_code_lines():
    long = {}
    for path in [*(ROOT / "checks").rglob("*.py"), *(ROOT / "builds").rglob("*.py")]:
        lines = [x for x in path.read_text().splitlines() if x.strip() and not x.strip().startswith("#")]
        if len(lines) > 300 and "migrations" not in path.parts:
            long[path.name] = len(lines)
    assert not long


def test_every_place_that_the_contributors_guide_names_exists():
    text = (ROOT / "DEVELOPERS.md").read_text()
    named = set(re.findall(r"`((?:builds|checks|tests|static|templates)/[\w/.-]+)`", text))
    assert len(named) > 30
    assert not [name for name in named if not (ROOT / name).exists()]


def test_the_top_level_holds_the_house_and_nothing_else():
    """Beside these only what tools force: packages, settings of tools, the licence."""
    kept = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    top = {line.split("/")[0] for line in kept.splitlines()}
    house = {"README.md", "DEVELOPERS.md", "SAFETY.md", "requirements.txt", "manage.py"}
    rooms = {"builds", "checks", "templates", "static", "tests"}
    forced = {"pyproject.toml", "LICENSE", ".ci", ".gitignore", ".gitattributes"}
    assert house | rooms <= top
    assert not top - house - rooms - forced
