"""Circuits that many tests solve alike are solved once: figures and fault dictionaries are kept by what they rest on,
in a folder that all workers share. The next run finds them there unless the code that made them has changed."""

import hashlib
import json
import pickle
import sys
from contextlib import suppress
from fcntl import LOCK_EX, flock
from functools import wraps
from pathlib import Path
from shutil import rmtree

from builds.guides.circuit import fault_dictionary, stored
from builds.guides.circuit.compute import SAMPLES
from builds.guides.circuit.content import make_key

ROOT = Path(__file__).resolve().parents[1]
MADE_BY = ("checks/**/*", "builds/guides/**/*.py", "requirements.txt")  # all that an answer can come from


def folder_of_this_code(store: Path, root: Path = ROOT) -> Path:
    """The folder of `store` for the code as it stands; what other code has left there goes."""
    code = hashlib.sha256(sys.version.encode())
    for path in sorted({path for pattern in MADE_BY for path in root.glob(pattern) if path.suffix != ".pyc"}):
        if path.is_file():
            code.update(f"{path.relative_to(root)}\0{hashlib.sha256(path.read_bytes()).hexdigest()}\n".encode())
    mine = store / code.hexdigest()
    for other in store.glob("*"):
        if other != mine:
            rmtree(other, ignore_errors=True)
    return mine


def solve_once(patch, folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    patch.setattr(stored, "compute", kept(stored.compute, _figures_rest_on, folder))
    packed = kept(fault_dictionary.prepare_packed, _dictionary_rests_on, folder)
    patch.setattr(fault_dictionary, "prepare_packed", packed)


def kept(solve, rests_on, folder: Path):
    """`solve`, whose answer is read from `folder` where it has been solved before with the same `rests_on`."""

    @wraps(solve)
    def answer(*args, **more):
        facts = json.dumps([solve.__name__, *rests_on(*args, **more)], sort_keys=True)
        path = folder / hashlib.sha256(facts.encode()).hexdigest()
        with path.open("a+b") as file:
            flock(file, LOCK_EX)  # another worker may be solving it
            file.seek(0)
            known = file.read()
            with suppress(EOFError, pickle.UnpicklingError):  # nothing yet, or half of it by a run that was stopped
                return pickle.loads(known)
            made = solve(*args, **more)
            file.truncate(0)
            file.write(pickle.dumps(made))
            return made

    return answer


def _figures_rest_on(content, report=None, samples=SAMPLES):
    return make_key(content), samples


def _dictionary_rests_on(revision, guide, report, **more):
    return fault_dictionary.key_for(revision, guide), more
