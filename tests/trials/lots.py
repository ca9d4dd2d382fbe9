"""Are the findings as sure as they are right? python -m tests.trials.lots --seed N

Programmes whose kits leave in lots: every builder has a meter of their own, right to its data sheet on one quantity and
not on the other, and a supply that is not quite what was noted. Good builds scatter in one of four shapes, two of them
with an end and two without; lots differ a little on checks where nobody would look; labels are missing here and there.
All that is true of a check counts as right: a reading left on record that misses by a slip is a single build, whatever
else is wrong; a lot that all builds are of is a wrong figure; and where one build alone is of a lot, no one can tell
whether it is the lot's or its own. Nothing is shared with checks/ or with the other trials.
"""
# ruff: noqa: T201

import argparse
from dataclasses import dataclass

import numpy as np

FITS, OFF, TIGHT, BATCH, SINGLES, UNCLEAR = (
    "fits",
    "figure off",
    "band too tight",
    "part batch",
    "single builds",
    "step unclear",
)
FAULTS = (OFF, TIGHT, BATCH, SINGLES, UNCLEAR)
SILENT = (FITS, "not enough")
BINS = ((0.5, 0.7), (0.7, 0.85), (0.85, 0.95), (0.95, 0.99), (0.99, 1.001))
SHAPES = {
    "normal": lambda rng, n: rng.normal(size=n),
    "flat": lambda rng, n: rng.uniform(-1.7, 1.7, n),
    "peaked": lambda rng, n: rng.laplace(size=n) / np.sqrt(2),
    "sorted out": lambda rng, n: rng.choice([-1, 1], n) * (0.55 + np.abs(rng.normal(0, 0.9, n))) / 1.28,
}
SHAPE_SHARES = (0.5, 0.2, 0.2, 0.1)  # the last: the best parts went to another list
GAINS = {"volts": 0.006, "ohms": 0.005}  # standard deviation of good hand-held meters, common practice
SUPPLY = 0.007  # of the mains against what was noted
LEFT_IN = 0.003  # readings that are a slip and were not taken again
MOST_SPREAD = 0.5


@dataclass(frozen=True)
class Known:
    """`d`: deviations in half-bands by build; `true`: all that may be said of the check."""

    quantity: str
    figure: float
    half: float
    d: dict[int, float]
    came_right: tuple[int, ...]
    snags: int
    true: frozenset[str]


@dataclass(frozen=True)
class Programme:
    labels: dict[str, dict[int, str]]
    checks: list[Known]


def draw(rng, builds: int, *, faulty: float = 0.12, checks: int = 120) -> Programme:
    """Raises ValueError for fewer than three builds."""
    if builds < 3:
        raise ValueError(f"{builds} builds show nothing")
    labels = _labels(rng, builds)
    gains = {q: sd * rng.standard_normal(builds) for q, sd in GAINS.items()}
    gains["volts"] = gains["volts"] + SUPPLY * rng.standard_normal(builds)
    return Programme(labels, [_check(rng, builds, labels, gains, faulty) for _ in range(checks)])


def _labels(rng, builds: int) -> dict[str, dict[int, str]]:
    lots = np.minimum(np.arange(builds) * 3 // builds, 2) if rng.random() < 0.5 else np.arange(builds) % 2
    valves = rng.choice(["crown", "plain", "mesh"], builds, p=[0.5, 0.3, 0.2])
    meters = rng.choice(["long", "short"], builds)
    noted = rng.random(builds) < 0.93
    return {
        "batch:R3": {n: f"lot {x}" for n, x in enumerate(lots)},
        "make:V2": {n: str(x) for n, x in enumerate(valves)},
        "meter:": {n: str(x) for n, x in enumerate(meters) if noted[n]},
    }


def _check(rng, builds, labels, gains, faulty) -> Known:
    kind = str(rng.choice(FAULTS)) if rng.random() < faulty else FITS
    quantity = "volts" if rng.random() < 0.7 else "ohms"
    half = float(np.exp(rng.uniform(np.log(0.03), np.log(0.2))))  # of the figure
    widest = rng.uniform(0.7, 1.3) if kind == TIGHT else MOST_SPREAD
    spread = widest if kind == TIGHT else min(MOST_SPREAD, float(rng.lognormal(np.log(0.24), 0.5)))
    shape = SHAPES[str(rng.choice(list(SHAPES), p=SHAPE_SHARES))]
    d = rng.normal(0, 0.1) + spread * shape(rng, builds) + gains[quantity] / half
    read = rng.random(builds) < (1.0 if rng.random() < 0.9 else 0.7)
    d, true = _with_fault(rng, kind, d, read, labels)
    slipped = rng.random(builds) < LEFT_IN
    d = np.where(slipped, d + rng.choice([-1, 1], builds) * rng.choice([2.0, 9.0, 40.0], builds), d)
    if (slipped & read & (np.abs(d) > 1)).any():
        true = true - {FITS} | {SINGLES}
    missed = rng.random(builds) < (rng.uniform(0.3, 0.7) if kind == UNCLEAR else 0.02)
    kept = {n: float(x) for n, x in enumerate(d) if read[n]}
    snags = int(rng.poisson((0.9 if kind == UNCLEAR else 0.03) * builds / 8))
    figure = float(np.exp(rng.uniform(np.log(1), np.log(400))))
    return Known(quantity, figure, half * figure, kept, tuple(n for n in kept if missed[n]), snags, frozenset(true))


def _with_fault(rng, kind, d, read, labels):
    """The deviations, and what may be said of those that were `read`."""
    n, sign = len(d), float(rng.choice([-1, 1]))
    if kind == OFF:
        return d + sign * (rng.uniform(0.8, 3.0) if rng.random() < 0.85 else rng.uniform(5, 60)), {OFF}
    if kind == BATCH:
        of = labels[str(rng.choice(["batch:R3", "make:V2"], p=[0.7, 0.3]))]
        parted = np.array([of[b] for b in range(n)]) == str(rng.choice(list(of.values())))
        return d + sign * rng.uniform(1.0, 3.0) * parted, _said_of_lot(int(parted[read].sum()), int(read.sum()))
    if kind == SINGLES:
        wrong = rng.permutation(n)[: 2 if n >= 8 and rng.random() < 0.25 else 1]
        return d + np.isin(np.arange(n), wrong) * sign * (1.3 + rng.lognormal(0.7, 0.8)), (
            {SINGLES} if read[wrong].any() else {FITS}
        )
    return d, {kind}


def _said_of_lot(size: int, builds: int) -> set[str]:
    """`size`: how many of the builds that read are of the lot."""
    if size in (0, builds):
        return {OFF} if size else {FITS}
    return {BATCH, SINGLES} if min(size, builds - size) == 1 else {BATCH}


def gather_evidence(programme: Programme) -> list:
    """By the function that the review calls."""
    from builds.review.proposals import Row, gather_evidence
    from checks.band import Band

    result = []
    for number, check in enumerate(programme.checks):
        band = Band(check.figure - check.half, check.figure + check.half, check.figure)
        rows = [_row(Row, number, build, d, check) for build, d in check.d.items()]
        result.append(gather_evidence(rows, band, check.snags, programme.labels, check.quantity))
    return result


def _row(row, number, build, d, check):
    state = "in band" if abs(d) <= 1 else "out of band"
    attempts, first = (2, "out of band") if build in check.came_right else (1, state)
    return row(number, build, attempts, first, state, d, 0.004 * check.figure, check.figure + d * check.half)


def kinds_found(programme: Programme) -> list[str]:
    """The kind of finding of every check, in the light of the others."""
    return [f.kind for f in find_many_of(programme)]


def find_many_of(programme: Programme) -> list:
    from checks.statistics.findings import find_many

    return find_many(gather_evidence(programme))


def tally(seed: int, builds: int, programmes: int, faulty: float = 0.12) -> list[tuple]:
    """(what is true, finding) of every check."""
    rng, rows = np.random.default_rng((seed, builds)), []
    for _ in range(programmes):
        programme = draw(rng, builds, faulty=faulty)
        rows += zip((c.true for c in programme.checks), find_many_of(programme), strict=True)
    return rows


def reliability(rows) -> list[tuple[float, float, int]]:
    """(probability said on the average, share that is true, claims) of every bin that has claims."""
    claims = [(f.probability, f.kind in true) for true, f in rows if f.kind not in SILENT]
    bins = [[row for row in claims if low <= row[0] < high] for low, high in BINS]
    return [(*(float(x) for x in np.mean(rows, axis=0)), len(rows)) for rows in bins if rows]


def right(rows) -> float:
    found = [f.kind in true for true, f in rows if true != {FITS}]
    return sum(found) / max(1, len(found))


def false_of_120(rows) -> float:
    clean = [f.kind not in SILENT for true, f in rows if true == {FITS}]
    return 120 * sum(clean) / max(1, len(clean))


def main():
    from tests.trials.diagnosis import open_site

    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--programmes", type=int, default=8)
    parser.add_argument("--faulty", type=float, default=0.12)
    asked = parser.parse_args()
    open_site()
    for builds in (3, 5, 8, 12):
        rows = tally(asked.seed, builds, asked.programmes, asked.faulty)
        said = ", ".join(f"{p:.2f} → {share:.2f} ({n})" for p, share, n in reliability(rows))
        print(f"{builds} builds: right {right(rows):.2f}, false {false_of_120(rows):.2f} of 120; said → true: {said}")


if __name__ == "__main__":
    main()
