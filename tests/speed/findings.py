"""CPU time of findings and proposed bands over 1,000 builds of 120 checks: python -m tests.speed.findings [BUILDS]

Without database and pages: from what builds read to findings and bands, as the review calls them. Beside the time it
gives the ratio to bare numpy that sorts every check's readings and takes mean and variance.
"""
# ruff: noqa: T201

import statistics
import sys
import time

import numpy as np

from checks.statistics.build_effects import without_build_effects
from checks.statistics.evidence import Evidence, Label, weigh_evidence
from checks.statistics.findings import compute_findings
from checks.statistics.normality import shape_of_guide
from checks.statistics.shared_scatter import learn_ratio
from checks.statistics.tolerance import compute_scatter, propose

CHECKS, GOAL, ROUNDS = 120, 1.0, 3
FIGURE, HALF = 100.0, 10.0


def programme(builds: int) -> list[Evidence]:
    """Good builds with labels; some checks have a wrong figure, a batch, wrong builds, or too tight a band."""
    random = np.random.default_rng(4)
    batch, meter = random.integers(0, 3, builds), random.integers(0, 4, builds)
    labels = tuple(
        Label(name, tuple(f"{name} {g}" for g in groups)) for name, groups in (("batch:R1", batch), ("meter:", meter))
    )
    rows = []
    for n in range(CHECKS):
        d = random.normal(0, random.uniform(0.15, 0.4), builds)
        d += {0: 1.6, 1: 1.5 * (batch == 1), 2: 6.0 * (random.random(builds) < 0.02)}.get(n % 20, 0.0)
        d *= 3.0 if n % 20 == 3 else 1.0
        rows.append(
            Evidence(
                tuple(d.tolist()), 0.03, labels=labels, builds=tuple(range(builds)), quantity="dc volts", reach=10.0
            )
        )
    return rows


def bands(evidence) -> None:
    scatters = [compute_scatter([FIGURE + HALF * d for d in e.deviations], 0.3) for e in evidence]
    ratio, shape = learn_ratio([(s, 3.0) for s in scatters]), shape_of_guide(s.shape for s in scatters)
    for s in scatters:
        propose(s, checks=CHECKS, shared=ratio and ratio.at(3.0), guide=shape)


def cpu(call) -> tuple[float, object]:
    """(median CPU seconds, what the last call gave)."""
    times, made = [], None
    for _ in range(ROUNDS):
        start = time.process_time()
        made = call()
        times.append(time.process_time() - start)
    return statistics.median(times), made


def main():
    builds = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    evidence = programme(builds)
    table = np.array([e.deviations for e in evidence])
    bare, _ = cpu(lambda: [(np.sort(row), row.mean(), row.var()) for row in table])
    effects, settled = cpu(lambda: without_build_effects(evidence))
    weighing, weighed = cpu(lambda: [weigh_evidence(e) for e in settled])
    learning, _ = cpu(lambda: compute_findings(weighed))
    proposing, _ = cpu(lambda: bands(evidence))
    found = effects + weighing + learning
    print(f"{builds} builds x {CHECKS} checks, CPU seconds: builds' own offsets {effects:.2f}, ", end="")
    print(f"each check weighed {weighing:.2f}, checks together {learning:.2f}, bands {proposing:.2f}")
    print(
        f"findings {found:.2f} s, {found / bare:.0f} times a bare sort, mean and variance ({bare * 1000:.1f} ms); ",
        end="",
    )
    print(f"{'within' if found <= GOAL else 'above'} the goal of {GOAL:.1f} s for 1,000 builds")


if __name__ == "__main__":
    main()
