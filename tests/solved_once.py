"""Circuits that many tests solve alike are solved once a run: figures and fault dictionaries are kept by what they
rest on, in a folder that all workers share. Nothing is kept from one run to the next."""

import hashlib
import json
import pickle
from fcntl import LOCK_EX, flock
from functools import wraps
from pathlib import Path

from builds.guides.circuit import fault_dictionary, stored
from builds.guides.circuit.compute import SAMPLES
from builds.guides.circuit.content import key_of


def solve_once(patch, folder: Path) -> None:
    folder.mkdir(exist_ok=True)
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
            if known := file.read():
                return pickle.loads(known)
            made = solve(*args, **more)
            file.write(pickle.dumps(made))
            return made

    return answer


def _figures_rest_on(content, report=None, samples=SAMPLES):
    return key_of(content), samples


def _dictionary_rests_on(revision, guide, report, **more):
    return fault_dictionary.key_for(revision, guide), more
