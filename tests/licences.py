"""Prints LICENCES.md: every package that the site installs, with the licence its makers state.
`python -m tests.licences > builds/operations/LICENCES.md`"""

import re
from importlib.metadata import metadata
from pathlib import Path

OBJECT_STORE = "builds/operations/object-store.txt"
PINNED = re.compile(r"^([A-Za-z0-9_.-]+)==([^\s;\\]+)", re.M)


def pinned(name: str = "requirements.txt") -> dict[str, str]:
    text = (Path(__file__).parent.parent / name).read_text()
    return {re.sub(r"[-_.]+", "-", package.lower()): version for package, version in PINNED.findall(text)}


def licence_of(package: str) -> str:
    """What the package's own metadata says: an SPDX expression, a classifier, or the first line of its text."""
    result = metadata(package)
    classes = [c.rsplit(" :: ", 1)[1] for c in result.get_all("Classifier") or [] if c.startswith("License :: ")]
    said = result.get("License-Expression") or ", ".join(c for c in classes if c != "OSI Approved")
    return said or (result.get("License") or "").strip().splitlines()[0][:60]


def page() -> str:
    everything = pinned() | pinned(OBJECT_STORE)
    rows = [f"| {name} | {version} | {licence_of(name)} |" for name, version in sorted(everything.items())]
    head = ["# Licences of what the site installs", "", "| package | version | licence |", "| --- | --- | --- |"]
    return "\n".join([*head, *rows, ""])


if __name__ == "__main__":
    print(page(), end="")
