"""Preparing, ranking and suggesting on the demo kit, and the trials over all faults: python -m tests.speed.faults"""

import statistics
import time
import warnings
from collections import Counter

from checks.diagnosis import Observation, next_reading, rank
from tests.checks.circuit.kits import DEMO
from tests.checks.diagnosis.trials import Kit, all_checks, as_it_happens, at_first_sign, reliability

SEEDS = (1, 2, 3)


def timed(call, rounds=9) -> float:
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        call()
        times.append(time.perf_counter() - start)
    return 1000 * statistics.median(times)


def main():
    warnings.simplefilter("ignore")
    for guide in (DEMO, DEMO.parent.parent / "line-preamp" / "guide.toml"):
        print(f"-- {guide.parent.name}")
        trials(guide)


def trials(guide):
    start = time.perf_counter()
    kit = Kit(SEEDS[0], guide)
    took = time.perf_counter() - start
    print(f"{len(kit.prepared.faults)} faults at {len(kit.prepared.places)} places prepared in {took:.1f} s (goal 5)")
    whole = [
        Observation(p.name, float(v), 0.005 * abs(v) + 0.01)
        for p, v in zip(kit.prepared.places, kit.prepared.nominal, strict=True)
        if p.check
    ]
    ranking = rank(kit.prepared, whole[:20])
    print(
        f"ranking a whole build {timed(lambda: rank(kit.prepared, whole)):.0f} ms (goal 20), "
        f"next reading "
        f"{timed(lambda: next_reading(kit.prepared, ranking, {o.place for o in whole[:20]})):.0f} ms (goal 100)"
    )
    print(
        "group sizes: "
        + ", ".join(f"{n} of {size}" for size, n in sorted(Counter(map(len, kit.sets)).items()))
        + f"; {len(kit.unseen)} faults that no check shows"
    )
    rows, further, healthy = [], [], 0
    for seed in SEEDS:
        kit.bench.random = type(kit.bench.random)(type(kit.bench.random.bit_generator)(seed))
        rows += list(all_checks(kit, kit.listed))
        further += list(as_it_happens(kit, kit.listed))
        for _ in range(100):
            readings = kit.readings(None)
            healthy += (
                kit.standing(rank(kit.prepared, [readings[p.name] for p in kit.order if p.name in readings]))[0][0]
                == "clear"
            )
    n = len(rows)
    print(
        f"{n} faulty builds, all checks: first {sum(f == 0 for _, f, _p in rows) / n:.1%} (goal 95), "
        f"in the first three {sum(f < 3 for _, f, _p in rows) / n:.1%} (goal 99); "
        f"{len(SEEDS) * len(kit.listed) - n} left out that scipy did not solve"
    )
    print(f"healthy called healthy {healthy / 100 / len(SEEDS):.1%} (goal 97)")
    soon = sum(m <= 3 for _, m in further) / len(further)
    print(f"from the first reading that is off, within 3 more: {soon:.1%} of {len(further)} (goal 90)")
    for text, reported in (
        ("with every check taken", [(f, n == 0, p) for f, n, p in rows]),
        ("after the first reading that is off", list(at_first_sign(kit, kit.listed))),
    ):
        print(f"{text}: given | right | cases")
        for cases, given, right, _chance in reliability(reported, (0, 0.5, 0.7, 0.9, 0.97, 1.01)):
            print(f"{given:.2f} | {right:.2f} | {cases}")


if __name__ == "__main__":
    main()
