"""Programmes of test builds whose findings are known: python -m tests.trials.programmes --seed N prints what it draws.

Each of 120 checks has a true kind. A good build reads within .15 to .45 half-bands of a middle near the guide's, with
tails heavier than normal, and part of every deviation is the build's own (its mains, its valves, its meter).
"""
# ruff: noqa: T201

import argparse
from collections import Counter
from dataclasses import dataclass

import numpy as np

CLEAN, FIGURE_OFF, TOO_TIGHT = "clean", "figure off", "band too tight"
PART_BATCH, BAD_BUILD, MISREAD = "part batch", "one bad build", "step misread"
FINDINGS = (FIGURE_OFF, TOO_TIGHT, PART_BATCH, BAD_BUILD, MISREAD)
SIZES = (3, 5, 8, 12, 30)
CHECKS, MOST_FINDINGS = 120, 0.20
SPREAD = (0.15, 0.45)
OFF_CENTRE = 0.12  # half-bands by which a clean check's middle may miss the guide's figure
TAILS = 5  # degrees of freedom of Student's t: about one reading in 200 lies past four of its scales
OWN = 0.2  # share of the variance that a build's readings have in common
LABELS = {
    "batch": ("A", "B", "C"),
    "make": ("make 1", "make 2", "make 3"),
    "meter": ("handheld", "basic", "bench"),
    "mains": ("230", "240", "115"),
}
PLACES = (
    (284.0, 0.06),
    (8.2, 0.14),
    (143.0, 0.14),
    (6.5, 0.06),
    (1.29, 0.16),
    (223e3, 0.08),
    (472e3, 0.08),
    (180.0, 0.08),
)


@dataclass(frozen=True)
class Known:
    """A check and the truth about it: `goes_with` is what label a part batch has, `builds` are the bad ones."""

    key: str
    expected: float
    half_band: float
    kind: str
    size: float = 0.0
    goes_with: tuple[str, str] | None = None
    builds: tuple[int, ...] = ()

    @property
    def band(self) -> tuple[float, float]:
        return self.expected - self.half_band, self.expected + self.half_band


@dataclass(frozen=True)
class Programme:
    """`deviations[check][build]` are a build's attempts in half-bands, the last of them the one that stands."""

    checks: tuple[Known, ...]
    labels: tuple[dict[str, str], ...]
    deviations: tuple[tuple[tuple[float, ...], ...], ...]

    def values(self, check: int, build: int) -> tuple[float, ...]:
        """A build's attempts as figures."""
        known = self.checks[check]
        return tuple(known.expected + known.half_band * z for z in self.deviations[check][build])

    def count(self) -> Counter:
        return Counter(known.kind for known in self.checks)


def draw_programme(rng, builds: int, checks: int = CHECKS, share: float | None = None) -> Programme:
    """A programme of so many builds; `share` of its checks have something to find, drawn up to a fifth unless given.

    Raises ValueError for fewer than two builds or a share that is none.
    """
    share = float(rng.uniform(0, MOST_FINDINGS)) if share is None else share
    if builds < 2 or not 0 <= share <= 1:
        raise ValueError(f"no programme has {builds} builds and {share:g} of its checks off")
    labels = _labels(rng, builds)
    kinds = [str(rng.choice(FINDINGS)) if rng.random() < share else CLEAN for _ in range(checks)]
    known = [_known(rng, n, kind, labels) for n, kind in enumerate(kinds)]
    own = rng.standard_normal(builds)
    return Programme(tuple(known), labels, tuple(_attempts(rng, k, labels, own) for k in known))


def _labels(rng, builds: int) -> tuple[dict[str, str], ...]:
    """What is known of each build. Batches come one after another, as kits are packed; the rest as it falls."""
    results = [{name: str(rng.choice(values)) for name, values in LABELS.items()} for _ in range(builds)]
    for n, row in enumerate(results):
        row["batch"] = LABELS["batch"][n * min(len(LABELS["batch"]), builds) // builds]
    return tuple(results)


def _known(rng, n: int, kind: str, labels) -> Known:
    expected, band = PLACES[int(rng.integers(len(PLACES)))]
    sign, known = float(rng.choice([-1, 1])), {"size": 0.0}
    if kind == FIGURE_OFF:
        known = {"size": sign * rng.uniform(0.6, 1.6)}
    elif kind == TOO_TIGHT:
        known = {"size": rng.uniform(0.7, 1.3)}
    elif kind == PART_BATCH:
        known = {"size": sign * rng.uniform(0.9, 2.2), "goes_with": _label_of_some(rng, labels)}
    elif kind == BAD_BUILD:
        known = {"size": sign * rng.uniform(1.6, 7.0), "builds": (int(rng.integers(len(labels))),)}
    elif kind == MISREAD:
        known = {"size": float(rng.uniform(0.35, 0.7))}
    return Known(f"check-{n + 1}", expected, expected * band, kind, **known)


def _label_of_some(rng, labels) -> tuple[str, str]:
    """A batch, or now and then a make of valve, that some builds have and some have not."""
    name = str(rng.choice(["batch", "make"], p=[0.7, 0.3]))
    if len({row[name] for row in labels}) == 1:
        name = "batch"
    return name, str(rng.choice(sorted({row[name] for row in labels})))


def _attempts(rng, known: Known, labels, own) -> tuple[tuple[float, ...], ...]:
    spread = known.size if known.kind == TOO_TIGHT else rng.uniform(*SPREAD)
    middle = rng.uniform(-OFF_CENTRE, OFF_CENTRE) + (known.size if known.kind == FIGURE_OFF else 0.0)
    alone = rng.standard_t(TAILS, len(labels)) * np.sqrt((TAILS - 2) / TAILS)
    sign = rng.choice([-1, 1])
    good = middle + spread * (np.sqrt(1 - OWN) * alone + sign * np.sqrt(OWN) * own)
    wrong = rng.choice([-1, 1]) * rng.uniform(2, 12)  # where the reading lies that the step is taken for
    missed = rng.random(len(labels)) < known.size
    missed[rng.integers(len(labels))] = True
    results = []
    for n, (z, row) in enumerate(zip(good, labels, strict=True)):
        if known.kind == PART_BATCH and row[known.goes_with[0]] == known.goes_with[1] or n in known.builds:
            z += known.size
        first = (wrong + 0.3 * rng.standard_normal(),) if known.kind == MISREAD and missed[n] else ()
        again = (z + 0.02 * rng.standard_normal(),) if not first and abs(z) > 1 and rng.random() < 0.7 else ()
        results.append(tuple(float(x) for x in (*first, z, *again)))
    return tuple(results)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, required=True)
    rng = np.random.default_rng(parser.parse_args().seed)
    for builds in SIZES:
        programme = draw_programme(rng, builds)
        out = sum(abs(a[-1]) > 1 for row in programme.deviations for a in row)
        print(f"{builds} builds: {dict(programme.count())}; {out} of {builds * CHECKS} readings out of band")


if __name__ == "__main__":
    main()
