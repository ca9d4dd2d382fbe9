"""Rework on a check: readings that missed at first and came right, and snags."""

from dataclasses import dataclass

import numpy as np
from scipy.special import betaln, gammaln

USUAL_RATE, RATE_WORTH = 0.04, 40.0  # of good builds that miss at first and come right, and the builds it counts for
ALIKE = 25.0  # builds that a clean check's own rate counts for: how alike the rates of a guide's checks are
UNCLEAR, OTHERWISE = (3.0, 4.0), (1.0, 8.0)  # beta priors of that rate where a step is unclear, and for other trouble
SNAGS = {"fits": 0.08, "step unclear": 1.2}  # mean number of snags of eight builds
OTHER_SNAGS = 0.4


@dataclass(frozen=True)
class Rework:
    """Of one check: builds, those that came right after missing, and snags."""

    n: int
    came_right: int
    snags: int


def log_likelihood(t: Rework, kind: str, rate: float = USUAL_RATE) -> float:
    """Under an explanation; `rate`: of good builds that miss at first and come right, over the guide."""
    a, b = UNCLEAR if kind == "step unclear" else OTHERWISE if kind != "fits" else (ALIKE * rate, ALIKE * (1 - rate))
    n, r = t.n, t.came_right
    binomial = gammaln(n + 1) - gammaln(r + 1) - gammaln(n - r + 1) + betaln(r + a, n - r + b) - betaln(a, b)
    mean = SNAGS.get(kind, OTHER_SNAGS) * max(1.0, n / 8)
    return float(binomial + t.snags * np.log(mean) - (t.snags + 1) * np.log1p(mean))  # rates differ: exponential prior


def learn_rate(reworks, fitting) -> float:
    """The rate over the checks of a guide, each counted by how likely it fits."""
    n = sum(p * t.n for t, p in zip(reworks, fitting, strict=True))
    right = sum(p * t.came_right for t, p in zip(reworks, fitting, strict=True))
    return (right + RATE_WORTH * USUAL_RATE) / (n + RATE_WORTH)
