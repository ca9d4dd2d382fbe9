"""Prints known advisories for the locked packages, asked of the Python Package Index and of OSV (osv.dev) by pip-audit,
which is a tool and no requirement: `pip install pip-audit`, then `python -m tests.advisories`.

Ends with 0 where nothing is known, 1 where something is, and 2 where it could not look, which is no good news."""

import json
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent
LISTS = ("builds/operations/requirements.lock", "builds/operations/object-store.lock")
NOTHING, FOUND, BLIND = 0, 1, 2


def main(lists=LISTS) -> int:
    results = [_look(name) for name in lists]
    return BLIND if BLIND in results else max(results)


def _look(name: str) -> int:
    program = shutil.which("pip-audit") or str(Path(sys.executable).with_name("pip-audit"))
    command = [program, "--requirement", str(ROOT / name), "--no-deps", "--disable-pip", "--format", "json"]
    try:
        ran = subprocess.run(command, capture_output=True, text=True, timeout=300)
    except (FileNotFoundError, subprocess.TimeoutExpired) as error:
        return _blind(name, str(error))
    try:
        packages = json.loads(ran.stdout)["dependencies"]
    except (ValueError, KeyError, TypeError):
        return _blind(name, ran.stderr.strip()[-300:])
    skipped = [row["name"] for row in packages if "skip_reason" in row]
    known = [
        (row["name"], row["version"], v["id"], v["fix_versions"]) for row in packages for v in row.get("vulns", [])
    ]
    for package, version, advisory, fixed in known:
        print(f"{package} {version}: {advisory}, mended in {', '.join(fixed) or 'no version yet'}")
    if skipped or not packages:
        return _blind(name, f"not asked about: {', '.join(skipped) or 'everything'}")
    print(f"{name}: {len(packages)} packages looked up, {len(known)} advisories")
    return FOUND if known else NOTHING


def _blind(name: str, why: str) -> int:
    print(f"{name}: COULD NOT LOOK. {why}")
    return BLIND


if __name__ == "__main__":
    sys.exit(main())
