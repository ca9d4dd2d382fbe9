"""Findings over programmes drawn from benches (benches.py): how many are right, and how many false.

python -m tests.trials.bench_findings --seed 7
"""

import argparse
from collections import Counter

import numpy as np

from tests.trials.benches import FITS, KINDS, SILENT, draw_benches, draw_places, truth

QUANTITY = "dc volts"  # of every place: a bench's meter is off by one gain


def found(benches, places) -> list[str]:
    """By the functions that the review calls."""
    from checks.statistics.findings import find_many

    return [finding.kind for finding in find_many(evidence_of_places(benches, places))]


def evidence_of_places(benches, places) -> list:
    from builds.review.proposals import Row, gather_evidence
    from checks.band import Band

    labels = {name: {n: b.labels[name] for n, b in enumerate(benches)} for name in benches[0].labels}
    evidence = []
    for number, place in enumerate(places):
        low, high = sorted((place.figure - place.half, place.figure + place.half))

        def outcome(x, low=low, high=high):
            return "over range" if x is None else "in band" if low <= x <= high else "out of band"

        def off(x, place=place):
            return 0.0 if x is None else (x - place.figure) / place.half

        rows = [
            Row(number, n, len(a), outcome(a[0]), outcome(a[-1]), off(a[-1]), 0.004 * abs(place.figure), a[-1])
            for n, a in place.attempts.items()
        ]
        evidence.append(gather_evidence(rows, Band(low, high, place.figure), place.snags, labels, QUANTITY))
    return evidence


def main():
    from tests.trials.diagnosis import open_site

    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--programmes", type=int, default=10)
    parser.add_argument("--faulty", type=float, default=0.12)
    asked = parser.parse_args()
    open_site()
    for builds in (3, 5, 8, 12):
        rng, count = np.random.default_rng((asked.seed, builds)), Counter()
        for _ in range(asked.programmes):
            benches = draw_benches(rng, builds)
            places = draw_places(rng, benches, asked.faulty)
            count.update(zip([truth(benches, place) for place in places], found(benches, places), strict=True))
        account(builds, asked.programmes, count)


def account(builds: int, programmes: int, count: Counter) -> None:
    faulty = sum(n for (true, _), n in count.items() if true != FITS)
    right = sum(n for (true, kind), n in count.items() if true == kind != FITS)
    false = Counter({kind: n for (true, kind), n in count.items() if true == FITS and kind not in SILENT})
    print(
        f"{builds} builds: right {right / max(1, faulty):.2f} of {faulty}; false {false.total() / programmes:.2f} "
        f"a programme {dict(false)}",
        flush=True,
    )
    for true in KINDS:
        rows = Counter({kind: n for (t, kind), n in count.items() if t == true})
        if rows:
            print(f"   {true}: {rows[true] / rows.total():.2f}  {dict(rows)}")


if __name__ == "__main__":
    main()
