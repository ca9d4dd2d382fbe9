"""Programmes of builders who share two meters, in volts and ohms: python -m tests.trials.workrooms --seed N

What is hard about them: good builds that lean to one side (a lognormal product of parts), a common offset of a builder
(a mains higher than noted moves volts and not ohms, a hot room moves copper), meters lent from hand to hand that are
off by another ratio on ohms than on volts, and slips of the pencil that stay on record. All that is true of a check
counts as right, as in lots.py: a slip that misses is a single build whatever else is wrong, a reel that all builds are
of is a wrong figure, and where one build alone is of a reel, no one can tell whether it is the reel's or its own.
Nothing is shared with checks/, benches.py or drawn_checks.py. Printed: findings right, and false ones a programme of
120 checks, with builds' own offsets taken off and without.
"""
# ruff: noqa: T201

import argparse
from collections import Counter

import numpy as np

NOMINALS = {"dc volts": (6.3, 1.8, 92.0, 148.0, 265.0, 318.0), "resistance": (12.0, 470.0, 2200.0, 47e3, 220e3)}
FAULTS = ("figure off", "band too tight", "part batch", "single builds")
METERS = ({"dc volts": 1.0, "resistance": 1.0}, {"dc volts": 1.024, "resistance": 0.985})  # one is off, as old ones are
SLIPS = 0.004  # of readings: two digits changed round, and nobody saw it
# quantity, all that may be said of it, figure, half of the band, what was read
Check = tuple[str, frozenset[str], float, float, np.ndarray]


def draw(rng, builds: int, *, faulty: float, checks: int = 120) -> tuple[list[dict[str, str]], list[Check]]:
    """(labels of every build, checks)."""
    meters = rng.integers(0, 2, builds)
    mains = np.exp(np.abs(rng.normal(0, 0.012, builds)))  # more than was noted, never less
    warm = 1 + 0.004 * rng.integers(0, 6, builds)
    reels = np.sort(rng.integers(0, 3, builds))
    labels = [{"meter:": f"meter {m}", "batch:R9": f"reel {r}"} for m, r in zip(meters, reels, strict=True)]
    rows = []
    for _ in range(checks):
        quantity = "dc volts" if rng.random() < 0.65 else "resistance"
        kind = str(rng.choice(FAULTS)) if rng.random() < faulty else "fits"
        true = float(rng.choice(NOMINALS[quantity])) * rng.uniform(0.9, 1.1)
        skew = rng.choice([-1, 1]) * rng.uniform(0.01, 0.03)
        value = true * np.exp(skew * (np.exp(0.5 * rng.normal(size=builds)) - 1.13))
        value *= mains if quantity == "dc volts" else warm if rng.random() < 0.3 else 1.0
        value *= np.array([METERS[m][quantity] for m in meters])
        half = true * abs(skew) * (0.9 if kind == "band too tight" else rng.uniform(3.0, 4.5))
        rows.append(_with_fault(rng, quantity, kind, true, half, value, reels))
    return labels, rows


def _with_fault(rng, quantity, kind, nominal, half, value, reels) -> Check:
    sign, figure, n, true = rng.choice([-1, 1]), nominal, len(value), {kind}
    if kind == "figure off":
        figure = nominal + sign * half * rng.uniform(1.3, 4)
    elif kind == "part batch":
        size, parted = rng.uniform(1.3, 2.5), reels == rng.choice(reels)
        value = value + sign * half * size * parted
        true = {"figure off"} if parted.all() else {kind}
        true |= {"single builds"} if min(parted.sum(), n - parted.sum()) == 1 else set()
    elif kind == "single builds":
        value[rng.integers(n)] += sign * half * rng.uniform(2.5, 12)
    slipped = rng.random(n) < SLIPS
    value[slipped] *= rng.choice([0.1, 10.0, 0.91, 1.18], slipped.sum())
    if (np.abs(value[slipped] - figure) > half).any():
        true = true - {"fits"} | {"single builds"}
    return quantity, frozenset(true), figure, half, value


def gather_evidence(labels, rows) -> list:
    from builds.review.proposals import Row, gather_evidence
    from checks.band import Band

    of = {name: {n: row[name] for n, row in enumerate(labels)} for name in labels[0]}
    result = []
    for number, (quantity, _, figure, half, values) in enumerate(rows):
        band = Band(figure - half, figure + half, figure)
        states = ["in band" if abs(x - figure) <= half else "out of band" for x in values]
        read = [
            Row(number, n, 1, state, state, band.deviation(x), 0.003 * figure, float(x))
            for n, (x, state) in enumerate(zip(values, states, strict=True))
        ]
        result.append(gather_evidence(read, band, 0, of, quantity))
    return result


def kinds_found(labels, rows, *, offsets: bool = True) -> list[str]:
    """The kind of finding of every check; `offsets`: whether builds' own are taken off."""
    from dataclasses import replace

    from checks.statistics.findings import find_many

    evidence = gather_evidence(labels, rows)
    if not offsets:
        evidence = [replace(e, reach=0.0) for e in evidence]
    return [f.kind for f in find_many(evidence)]


def tally(seed: int, builds: int, programmes: int, faulty: float, *, offsets: bool = True) -> Counter:
    """(all that may be said, kind found) -> checks."""
    rng, count = np.random.default_rng((seed, builds)), Counter()
    for _ in range(programmes):
        labels, rows = draw(rng, builds, faulty=faulty)
        found = kinds_found(labels, rows, offsets=offsets)
        count.update(zip((true for _, true, *_ in rows), found, strict=True))
    return count


def right(count: Counter) -> float:
    faulty = sum(n for (true, _), n in count.items() if true != {"fits"})
    return sum(n for (true, kind), n in count.items() if kind in true and kind != "fits") / max(1, faulty)


def false(count: Counter) -> Counter:
    wrong = {(true, kind): n for (true, kind), n in count.items() if true == {"fits"}}
    return Counter({kind: n for (_, kind), n in wrong.items() if kind not in ("fits", "not enough")})


def main():
    from tests.trials.diagnosis import open_site

    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--programmes", type=int, default=8)
    parser.add_argument("--faulty", type=float, default=0.12)
    asked = parser.parse_args()
    open_site()
    for builds in (3, 5, 8, 12):
        for offsets in (False, True):
            count = tally(asked.seed, builds, asked.programmes, asked.faulty, offsets=offsets)
            wrong = false(count)
            print(
                f"{builds} builds, offsets {'taken off' if offsets else 'left in'}: right {right(count):.2f}, "
                f"false {wrong.total() / asked.programmes:.2f} a programme {dict(wrong)}",
                flush=True,
            )


if __name__ == "__main__":
    main()
