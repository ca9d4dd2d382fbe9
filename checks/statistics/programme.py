"""A test-build programme as a whole: rolled-through yield of stages, and how many more builds a release would take."""

import math
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from checks.errors import CallerError
from checks.finite import finite_arguments, finite_figures
from checks.statistics.difference import clean_builds_needed

DRAWS, SEED = 20_000, 11
FARTHEST = 80  # builds looked ahead
JEFFREYS = 0.5  # prior counts of either outcome


@finite_figures
@dataclass(frozen=True)
class FirstPassYield:
    """Product of the stages' first-pass shares, with an equal-tailed interval; share None when a stage has no build
    yet."""

    share: float | None
    low: float
    high: float


@dataclass(frozen=True)
class Forecast:
    """Builds until a lower bound is reached: `clean` if every one is right at first; `likely` (median) with `low` to
    `high` (the middle 80 %) if they go on as they have; None for more than FARTHEST."""

    clean: int | None
    likely: int | None
    low: int | None
    high: int | None


@finite_arguments
def first_pass_yield(stages, confidence: float = 0.95) -> FirstPassYield:
    """Share of builds that would pass every stage at first, from [(right, builds)] by stage.

    Each stage's share has the Jeffreys posterior Beta(right + 1/2, wrong + 1/2); the product's interval is from draws
    of all of them, stages taken as independent. For one stage it is Jeffreys's interval (Brown, Cai and DasGupta,
    Statist. Sci. 16:101, 2001). Raises ChecksError for counts that are no shares.
    """
    stages = list(stages)
    for right, n in stages:
        if not 0 <= right <= n:
            raise CallerError(f"{right} of {n} is not a share.", argument="stages")
    if not stages or any(n == 0 for _right, n in stages):
        return FirstPassYield(None, 0.0, 1.0)
    random = np.random.default_rng(SEED)
    drawn = np.ones(DRAWS)
    for right, n in stages:
        drawn *= random.beta(right + JEFFREYS, n - right + JEFFREYS, DRAWS)
    tail = (1 - confidence) / 2
    low, high = np.quantile(drawn, (tail, 1 - tail))
    return FirstPassYield(math.prod(right / n for right, n in stages), float(low), float(high))


def forecast_builds(right: int, n: int, least: float, confidence: float = 0.9) -> Forecast:
    """How many more builds bring Wilson's lower bound of the share to `least`. Raises ChecksError as
    clean_builds_needed."""
    clean = clean_builds_needed(right, n, least, most=FARTHEST, confidence=confidence)
    if clean == 0:
        return Forecast(0, 0, 0, 0)
    random = np.random.default_rng(SEED)
    p = random.beta(right + JEFFREYS, n - right + JEFFREYS, DRAWS // 10)
    after = right + np.cumsum(random.random((len(p), FARTHEST)) < p[:, None], axis=1)
    there = _wilson_low(after, n + np.arange(1, FARTHEST + 1), confidence) >= least
    first = np.where(there.any(axis=1), there.argmax(axis=1) + 1, FARTHEST + 1)
    quantiles = [int(np.quantile(first, q, method="inverted_cdf")) for q in (0.5, 0.1, 0.9)]
    return Forecast(clean, *(k if k <= FARTHEST else None for k in quantiles))


def _wilson_low(right, n, confidence):
    """Wilson's lower bound, elementwise."""
    z = float(ndtri(0.5 + confidence / 2))
    p = right / n
    centre, half = p + z * z / (2 * n), z * np.sqrt(p * (1 - p) / n + z * z / (4 * n * n))
    return (centre - half) / (1 + z * z / n)
