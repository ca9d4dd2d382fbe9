"""Programmes of checks whose densities are known, so that the best possible judgement of them is known as well
(tests/trials/oracle.py). Nothing here is shared with checks/.

All figures are half-bands. A programme's good builds scatter by `spread`, give or take a fifth from check to check,
about middles that miss the guide's figures by a tenth. What may be wrong with a check is of one of six kinds. A band
that does not hold 95 of 100 good builds is too tight, so that no check that fits scatters by more than FITTING.
"""

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
SIZES, SPREADS = (3, 5, 8, 12, 30), (0.15, 0.25, 0.35, 0.45)
CHECKS, FAULTY = 120, 0.15
MIDDLE_SD, UNEVEN, METER = 0.1, 0.2, 0.03
FITTING = 1 / 1.96
SHIFT, WIDE, APART, ASTRAY = (0.8, 2.5), (0.8, 1.5), (1.0, 2.5), (1.6, 8.0)  # uniform between
LABELS = {"batch:R5": 2, "make:V1": 3, "meter:": 3, "mains:": 2}  # groups of each recorded label
CAME_RIGHT, CAME_RIGHT_UNCLEAR = 0.03, 0.45  # of builds
SNAGS, SNAGS_UNCLEAR = 0.05, 1.5  # mean number on a check


@dataclass(frozen=True)
class DrawnCheck:
    kind: str
    d: np.ndarray
    came_right: int
    snags: int


@dataclass(frozen=True)
class DrawnProgramme:
    """`labels`: name -> each build's group."""

    spread: float
    faulty: float
    labels: dict[str, np.ndarray]
    checks: list[DrawnCheck]


def draw(rng, n: int, spread: float, *, faulty: float = FAULTY, checks: int = CHECKS) -> DrawnProgramme:
    """A programme of `n` builds; `faulty` of its checks have something to find."""
    labels = {name: _groups(rng, n, groups) for name, groups in LABELS.items()}
    kinds = [str(rng.choice(FAULTS)) if rng.random() < faulty else FITS for _ in range(checks)]
    return DrawnProgramme(spread, faulty, labels, [_check(rng, kind, n, spread, labels) for kind in kinds])


def _groups(rng, n: int, groups: int) -> np.ndarray:
    """Of at least two kinds."""
    while True:
        result = rng.integers(groups, size=n)
        if len(set(result.tolist())) > 1:
            return result


def _check(rng, kind: str, n: int, spread: float, labels) -> DrawnCheck:
    scatter = min(FITTING, spread * np.exp(UNEVEN * rng.normal()))
    if kind == TIGHT:
        scatter = rng.uniform(*WIDE)
    d = rng.normal(0, MIDDLE_SD) + scatter * rng.normal(size=n)
    sign = rng.choice([-1, 1])
    if kind == OFF:
        d += sign * rng.uniform(*SHIFT)
    elif kind == BATCH:
        groups = labels[str(rng.choice(list(labels)))]
        d += sign * rng.uniform(*APART) * (groups == rng.choice(groups))
    elif kind == SINGLES:
        wrong = rng.choice(n, 1 if n < 6 else int(rng.integers(1, 3)), replace=False)
        d[wrong] = rng.choice([-1, 1], len(wrong)) * rng.uniform(*ASTRAY, len(wrong))
    d += METER * rng.normal(size=n)
    is_unclear = kind == UNCLEAR
    right = rng.binomial(n, CAME_RIGHT_UNCLEAR if is_unclear else CAME_RIGHT)
    return DrawnCheck(kind, d, int(right), int(rng.poisson(SNAGS_UNCLEAR if is_unclear else SNAGS)))
