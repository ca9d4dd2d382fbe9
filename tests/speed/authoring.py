"""Clicks and keys of a designer who makes a line stage from a spreadsheet and a document, through the real pages.

python -m tests.speed.authoring
"""

import subprocess
import sys

QUERY = "tests/browser/test_from_a_spreadsheet.py"


def main() -> None:
    command = [
        sys.executable,
        "-m",
        "pytest",
        "-o",
        "addopts=",
        "-q",
        "-n",
        "0",
        "-s",
        "-p",
        "tests.speed.authoring_plugin",
        QUERY,
    ]
    sys.exit(subprocess.run(command).returncode)


if __name__ == "__main__":
    main()
