"""What is installed is what was looked at: every package pinned, with the hashes of its files and a stated licence."""

import re
from pathlib import Path

import pytest

from tests import advisories
from tests.advisories import BLIND, FOUND, NOTHING, main
from tests.licences import OBJECT_STORE, licence_of, pinned

ROOT = Path(__file__).parent.parent
LOCKS = {
    "builds/operations/requirements.lock": "requirements.txt",
    "builds/operations/object-store.lock": OBJECT_STORE,
}


@pytest.mark.parametrize("lock", LOCKS)
def test_every_pinned_package_has_its_hashes(lock):
    blocks = re.split(r"\n(?=[a-zA-Z])", (ROOT / lock).read_text())
    assert all(re.search(r"--hash=sha256:[0-9a-f]{64}\b", block) for block in blocks if block.strip())
    assert pinned(lock) == pinned(LOCKS[lock])


def test_every_list_that_anybody_is_told_to_install_is_one_with_hashes():
    """The pages name the locked lists only, and pip is told to insist (its handbook, "Secure installs")."""
    told = (ROOT / "builds/operations/DEPLOYMENT.md").read_text() + (ROOT / "DEVELOPERS.md").read_text()
    lists = re.findall(r"pip install ([^\n`]*-r builds/operations/\S+?)[`\s)]", told)
    assert {one.split()[-1] for one in lists} == set(LOCKS)
    assert all("--require-hashes" in one for one in lists)
    assert set(advisories.LISTS) == set(LOCKS)


@pytest.mark.parametrize("lock", LOCKS)
def test_the_hashes_of_every_list_are_held_against_the_registrys_files(lock):
    assert re.search(
        rf"^ *\S*pip install [^\n]*--require-hashes[^\n]* -r {lock}$", (ROOT / ".ci/run").read_text(), re.M
    )


def test_nothing_is_fetched_that_a_list_does_not_name():
    """What the packages of the object store need is in the two lists: --no-deps leaves nothing out."""
    from importlib.metadata import requires

    known = set(pinned() | pinned(OBJECT_STORE))
    for name in pinned(OBJECT_STORE):
        needed = [one for one in requires(name) or [] if "extra ==" not in one]
        missing = {re.sub(r"[-_.]+", "-", re.match(r"[\w.-]+", one).group().lower()) for one in needed} - known
        assert not missing, (name, missing)


def test_every_package_states_a_licence_and_is_listed_with_its_version():
    listed = (ROOT / "builds/operations/LICENCES.md").read_text()
    for name, version in (pinned() | pinned(OBJECT_STORE)).items():
        assert licence_of(name), name
        assert f"| {name} | {version} |" in listed


def program(folder, monkeypatch, said: str, code: int = 0):
    """A stand-in for the tool, which says this: what it says is laid down in its documentation ("--format json")."""
    (folder / "pip-audit").write_text(f"#!/bin/sh\ncat <<'E'\n{said}\nE\nexit {code}\n")
    (folder / "pip-audit").chmod(0o755)
    monkeypatch.setenv("PATH", str(folder), prepend=":")


KNOWN = '{"dependencies": [{"name": "a", "version": "1", "vulns": [{"id": "PYSEC-1", "fix_versions": ["2"]}]}]}'
NONE_KNOWN = '{"dependencies": [{"name": "a", "version": "1", "vulns": []}]}'
SKIPPED = '{"dependencies": [{"name": "a", "skip_reason": "could not be looked up"}]}'


@pytest.mark.parametrize(
    ("said", "code", "wanted"),
    [
        (KNOWN, 1, FOUND),
        (NONE_KNOWN, 0, NOTHING),
        (SKIPPED, 0, BLIND),
        ("", 1, BLIND),
        ('{"dependencies": []}', 0, BLIND),
    ],
)
def test_a_check_for_advisories_that_could_not_look_never_says_that_all_is_well(
    said, code, wanted, tmp_path, monkeypatch, capsys
):
    program(tmp_path, monkeypatch, said, code)
    assert main() == wanted
    assert ("COULD NOT LOOK" in capsys.readouterr().out) == (wanted == BLIND)
