"""What is installed is what was looked at: every package pinned, with the hashes of its files and a stated licence."""

import re
from pathlib import Path

from tests.licences import licence_of, pinned

ROOT = Path(__file__).parent.parent
LOCK = "builds/operations/requirements.lock"


def test_every_pinned_package_has_its_hashes():
    blocks = re.split(r"\n(?=[a-zA-Z])", (ROOT / LOCK).read_text())
    assert all("--hash=sha256:" in block for block in blocks if block.strip())
    assert pinned(LOCK) == pinned()


def test_every_package_states_a_licence_and_is_listed_with_its_version():
    listed = (ROOT / "builds/operations/LICENCES.md").read_text()
    for name, version in pinned().items():
        assert licence_of(name), name
        assert f"| {name} | {version} |" in listed
