"""Which changed sources the tests let pass: each in a process of its own."""

import faulthandler
import multiprocessing
import os
import tempfile
from pathlib import Path

# What every run imports, which is most of the time of a short one.
PACKAGES = ["numpy", "scipy.optimize", "scipy.stats", "scipy.signal", "scipy.integrate", "hypothesis", "pytest"]
PACKAGES += ["django.db.models", "django.contrib.auth", "django.template", "django.test", "PIL.Image"]
PATIENCE = 300  # seconds for one mutant: one that never ends is noticed


def survives(module: str, source: str, tests: list[str]) -> bool:
    """Do the tests pass though the module is changed? For a process that has imported nothing of the project."""
    faulthandler.dump_traceback_later(PATIENCE, exit=True)
    quiet = os.open(os.devnull, os.O_WRONLY)
    os.dup2(quiet, 1)
    os.dup2(quiet, 2)
    with tempfile.TemporaryDirectory() as folder:
        changed = Path(folder) / "mutant.py"
        changed.write_text(source)
        os.environ.update(MUTANT_MODULE=module, MUTANT_SOURCE=str(changed), DATA_DIR=folder)
        there = [test for test in tests if Path(test.partition("::")[0]).exists()]
        options = ["-p", "tests.mutation.loader", "-p", "no:xdist", "-o", "addopts=", "-p", "no:cacheprovider"]
        import pytest

        try:
            return pytest.main([*options, "-x", "-q", "-m", "not browser and not slow", *there]) == 0
        except Exception:  # the site itself cannot start with it
            return False


def all_that_survive(module: str, tried: list[tuple[str, list[str]]], jobs: int) -> list[bool]:
    """Does each changed source pass its tests? Each in a process of its own, with nothing of the project at hand."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(PACKAGES)
    with context.Pool(jobs, maxtasksperchild=1) as pool:
        waiting = [pool.apply_async(survives, (module, source, tests)) for source, tests in tried]
        return [_answer(one) for one in waiting]


def _answer(waiting) -> bool:
    try:
        return waiting.get(3 * PATIENCE)
    except multiprocessing.TimeoutError:  # it never ended, and its process is gone
        return False
