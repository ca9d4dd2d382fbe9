"""The mutation run: python -m tests.mutation [--sample N] [--seed N] [MODULE ...]

For each rule module, a sample of its mutants is run against the tests that are to hold it, and the share that they kill
is printed, with every survivor. Goal: 90 % of each. It takes minutes and is no part of the test run.
"""

import argparse
import random
from importlib.util import find_spec
from pathlib import Path

from tests.mutation.mutants import mutants_of
from tests.mutation.survival import all_that_survive

CHECKS, BENCH = "tests/checks", "tests/builds/bench"
MEASURING, WRONG_PASSES = "tests/references/test_measuring_values.py", "tests/dangers/test_wrong_passes.py"
TESTS = {
    "checks.verdict": [f"{CHECKS}/test_verdict.py", WRONG_PASSES, MEASURING],
    "checks.band": [f"{CHECKS}/test_band.py", f"{CHECKS}/test_verdict.py", WRONG_PASSES, MEASURING],
    "checks.mains": [f"{CHECKS}/test_mains.py", WRONG_PASSES, MEASURING],
    "checks.meter": [f"{CHECKS}/test_meter.py", f"{CHECKS}/test_verdict.py", WRONG_PASSES, MEASURING],
    "checks.quantity": [f"{CHECKS}/test_quantity.py", WRONG_PASSES],
    "checks.entry": [f"{CHECKS}/test_entry.py", "tests/dangers"],
    "checks.safety": [f"{CHECKS}/test_safety.py", "tests/references/test_measuring_values.py"],
    "checks.diagnosis.ranking": [f"{CHECKS}/diagnosis"],
    "checks.diagnosis.next_measurement": [f"{CHECKS}/diagnosis"],
    "checks.statistics.findings": [f"{CHECKS}/statistics"],
    "checks.statistics.outliers": [f"{CHECKS}/statistics", "tests/references"],
    "checks.statistics.tolerance": [f"{CHECKS}/statistics", "tests/references"],
    "builds.bench.readings.context": [BENCH, "tests/dangers"],
    "builds.bench.readings.passing": [BENCH, "tests/dangers"],
    "builds.bench.readings.taking": [BENCH, "tests/dangers"],
    "builds.bench.gates.gating": [BENCH, "tests/dangers"],
    "builds.bench.gates.stops": [BENCH, "tests/dangers"],
    "builds.bench.access": [BENCH, "tests/test_access.py"],
}


def run_module(module: str, sample: int, rng: random.Random, jobs: int) -> tuple[int, int]:
    """(killed, tried) of one module; survivors are printed."""
    source = Path(find_spec(module).origin).read_text()
    mutants = mutants_of(source)
    chosen = rng.sample(mutants, min(sample, len(mutants)))
    alive = all_that_survive(module, [mutant.source for mutant in chosen], TESTS[module], jobs)
    for mutant in sorted((m for m, still in zip(chosen, alive, strict=True) if still), key=lambda m: m.line):
        print(f"  survives: {module} line {mutant.line}: {mutant.change}")
    return len(chosen) - sum(alive), len(chosen)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("modules", nargs="*", default=list(TESTS), metavar="MODULE")
    parser.add_argument("--sample", type=int, default=30)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=2)
    asked = parser.parse_args()
    rng, killed, tried = random.Random(asked.seed), 0, 0
    for module in asked.modules:
        good, all_ = run_module(module, asked.sample, rng, asked.jobs)
        killed, tried = killed + good, tried + all_
        print(f"{module}: {good} of {all_} killed ({good / all_:.0%})", flush=True)
    print(f"all: {killed} of {tried} killed ({killed / tried:.0%})")


if __name__ == "__main__":
    main()
