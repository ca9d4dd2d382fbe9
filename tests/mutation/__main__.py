"""The mutation run: python -m tests.mutation [--sample N] [--seed N] [--without-site] [MODULE ...]

For each rule module, a sample of its mutants is run against the tests that are to hold it, and the share that they kill
is printed, with every survivor. Goal: 90 % of each. It takes minutes and is no part of the test run. `--without-site`,
for modules of checks/, runs what needs no site: it begins in two seconds, and what it lets pass other tests may notice.
"""

import argparse
import random
from importlib.util import find_spec
from pathlib import Path

from tests.mutation.mutants import mutants_of
from tests.mutation.nursery import AT_IMPORT, Module, Nursery, Outcome
from tests.mutation.survival import all_that_survive

CHECKS, BENCH = "tests/checks", "tests/builds/bench"
MEASURING, WRONG_PASSES = "tests/references/test_measuring_values.py", "tests/dangers/test_wrong_passes.py"
REFERENCES = "tests/references/test_statistics_values.py"
ALONE = (MEASURING, WRONG_PASSES, REFERENCES)  # they need no site
FREQUENCY = "tests/dangers/test_meters_beyond_their_frequency.py"
# Of the site's tests those that come to the rules by themselves: a mutant takes seconds, not the minutes of all.
RULES, READINGS, STOPS = f"{BENCH}/rules", f"{BENCH}/test_readings.py", f"{BENCH}/test_stops.py"
HELD = [f"{BENCH}/test_what_is_conceded.py", "tests/dangers/test_at_the_bench.py"]
HELD += ["tests/dangers/test_conceded_readings.py"]
PROPOSED = ("tolerance", "widths", "proposals")
RANKED = ("likelihood", "ranking", "ambiguity", "bounds")
NETLIST = (
    "parts",
    "own_figures",
    "terminals",
    "transistors",
    "signal",
    "regulation",
    "parameters",
    "wires",
    "conditions",
)
SCHEMATIC = ("symbols.two_ended", "symbols.others", "symbols.valves", "flags", "units", "rings")
TESTS = {
    "checks.verdict": [f"{CHECKS}/test_verdict.py", WRONG_PASSES, MEASURING],
    "checks.band": [f"{CHECKS}/test_band.py", f"{CHECKS}/test_verdict.py", WRONG_PASSES, MEASURING],
    "checks.mains": [f"{CHECKS}/test_mains.py", WRONG_PASSES, MEASURING],
    "checks.meter": [f"{CHECKS}/test_meter.py", f"{CHECKS}/test_verdict.py", WRONG_PASSES, MEASURING, FREQUENCY],
    "checks.quantity": [f"{CHECKS}/test_quantity.py", WRONG_PASSES],
    "checks.entry": [f"{CHECKS}/test_entry.py", "tests/dangers/test_typed_entries.py"],
    "checks.safety": [f"{CHECKS}/test_safety.py", "tests/references/test_measuring_values.py"],
    **{f"checks.circuit.netlist.{name}": [f"{CHECKS}/circuit/netlist"] for name in NETLIST},
    **{f"checks.schematic.{name}": [f"{CHECKS}/schematic"] for name in SCHEMATIC},
    "checks.diagnosis.listing": [f"{CHECKS}/diagnosis/test_listing.py"],
    "checks.diagnosis.likelihood": [f"{CHECKS}/diagnosis/test_{name}.py" for name in RANKED],
    "checks.diagnosis.ranking": [f"{CHECKS}/diagnosis/test_{name}.py" for name in RANKED],
    "checks.diagnosis.next_measurement": [f"{CHECKS}/diagnosis/test_next_measurement.py"],
    "checks.statistics.findings": [f"{CHECKS}/statistics/test_reporting.py", f"{CHECKS}/statistics/test_findings.py"],
    "checks.statistics.outliers": [f"{CHECKS}/statistics/test_outliers.py", REFERENCES],
    "checks.statistics.tolerance": [f"{CHECKS}/statistics/test_{name}.py" for name in PROPOSED],
    "builds.bench.readings.context": [RULES, f"{BENCH}/test_feeding.py", READINGS, *HELD, FREQUENCY],
    "builds.bench.readings.passing": [RULES, READINGS, *HELD],
    "builds.bench.readings.taking": [f"{BENCH}/test_taking.py", f"{BENCH}/test_notices.py", READINGS, *HELD],
    "builds.bench.gates.gating": [RULES, READINGS, STOPS, *HELD],
    "builds.bench.gates.stops": [RULES, STOPS],
    "builds.bench.gates.locks": [RULES, STOPS],
    "builds.bench.gates.facts": [RULES, READINGS, STOPS, *HELD],
    "builds.bench.access": [f"{BENCH}/test_whose_build.py"],
}


def module_of(name: str, sample: int, rng: random.Random, without_site: bool) -> Module:
    tests = [test for test in TESTS[name] if not without_site or test.startswith((CHECKS, *ALONE))]
    spec = find_spec(name)
    assert spec and spec.origin, name
    mutants = mutants_of(Path(spec.origin).read_text())
    chosen = rng.sample(mutants, min(sample, len(mutants)))
    return Module(name, spec.origin, tuple(tests), tuple(sorted(chosen, key=lambda mutant: mutant.line)))


def try_in_processes(outcomes: list[Outcome], jobs: int) -> None:
    """What is done at import: each in a process of its own, which imports the changed module."""
    waiting = [outcome for outcome in outcomes if outcome.killer == AT_IMPORT]
    for module in {outcome.module.name: outcome.module for outcome in waiting}.values():
        mine = [outcome for outcome in waiting if outcome.module is module]
        alive = all_that_survive(module.name, [(outcome.mutant.source, outcome.tests) for outcome in mine], jobs)
        for outcome, still in zip(mine, alive, strict=True):
            outcome.killer = None if still else "the tests, run afresh"


def report(module: Module, outcomes: list[Outcome]) -> tuple[int, int]:
    """(killed, tried) of one module, printed with its survivors."""
    mine = [outcome for outcome in outcomes if outcome.module is module]
    for outcome in mine:
        if not outcome.killer:
            print(f"  survives: {outcome}")
    killed = sum(1 for outcome in mine if outcome.killer)
    print(f"{module.name}: {killed} of {len(mine)} killed ({killed / max(1, len(mine)):.0%})", flush=True)
    return killed, len(mine)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("modules", nargs="*", default=list(TESTS), metavar="MODULE")
    parser.add_argument("--sample", type=int, default=30)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--without-site", action="store_true")
    asked = parser.parse_args()
    rng = random.Random(asked.seed)
    modules = [module_of(name, asked.sample, rng, asked.without_site) for name in asked.modules]
    nursery = Nursery(modules, asked.jobs, with_site=not asked.without_site)
    nursery.run()
    for test in nursery.unfit:
        print(f"  left out, as it fails unchanged: {test}")
    try_in_processes(nursery.outcomes, asked.jobs)
    figures = [report(module, nursery.outcomes) for module in modules]
    killed, tried = (sum(column) for column in zip(*figures, strict=True))
    print(f"all: {killed} of {tried} killed ({killed / tried:.0%})")


if __name__ == "__main__":
    main()
