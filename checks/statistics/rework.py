"""Rework on a check: readings that missed at first and came right, and snags.

Good checks of a guide are alike in it, and teach each other how often it happens: the rates over the guide and how much
they differ from check to check are weighed over a grid.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.special import betaln, gammaln

from checks.statistics.logs import log_sum

# of good builds that miss at first and come right: rates, and builds that a check's own rate counts for
RATES, ALIKE = np.geomspace(0.001, 0.3, 13), np.array((25.0, 80.0, 250.0))
USUAL_RATE, RATE_LOG_SD = 0.03, 1.2
ALIKE_WEIGHTS = np.array((0.25, 0.5, 0.25))
# snags about a good check: mean numbers of eight builds, and how alike checks are (shape of the gamma distribution)
SNAGS, SHAPES = np.geomspace(0.01, 1.0, 9), np.array((1.0, 3.0, 10.0))
USUAL_SNAGS, SNAGS_LOG_SD = 0.07, 0.8
UNCLEAR, OTHERWISE = (3.0, 4.0), (1.0, 8.0)  # beta priors of the rate where a step is unclear, and for other trouble
UNCLEAR_SNAGS, OTHER_SNAGS = 1.2, 0.4  # exponential priors' means, of eight builds
LIKE_GOOD = 0.5  # prior that other trouble changes nothing about rework


@dataclass(frozen=True)
class Rework:
    """Of one check: builds, those that came right after missing, and snags."""

    n: int
    came_right: int
    snags: int


def _came_right(t: Rework, a, b):
    """Beta-binomial."""
    n, r = t.n, t.came_right
    ways = gammaln(n + 1) - gammaln(r + 1) - gammaln(n - r + 1)
    return ways + betaln(r + a, n - r + b) - betaln(a, b)


def _snags(t: Rework, mean, shape):
    """Gamma-Poisson (negative binomial)."""
    k, mean = t.snags, mean * max(1.0, t.n / 8)
    ways = gammaln(k + shape) - gammaln(shape) - gammaln(k + 1)
    return ways + k * np.log(mean / (mean + shape)) - shape * np.log1p(mean / shape)


def _grids():
    rate, alike = (x.ravel() for x in np.meshgrid(RATES, ALIKE, indexing="ij"))
    mean, shape = (x.ravel() for x in np.meshgrid(SNAGS, SHAPES))
    prior = -0.5 * (np.log(rate / USUAL_RATE) / RATE_LOG_SD) ** 2 + np.log(np.tile(ALIKE_WEIGHTS, len(RATES)))
    prior_snags = -0.5 * (np.log(mean / USUAL_SNAGS) / SNAGS_LOG_SD) ** 2
    return (rate, alike, prior - log_sum(prior)), (mean, shape, prior_snags - log_sum(prior_snags))


(_RATE, _ALIKE, _PRIOR), (_MEAN, _SHAPE, _PRIOR_SNAGS) = _grids()
_PRIORS = (_PRIOR, _PRIOR_SNAGS)


@lru_cache(maxsize=4096)
def _good_check_likelihoods(t: Rework) -> tuple[np.ndarray, np.ndarray]:
    """Log likelihoods on a good check, for each point of either grid."""
    return _came_right(t, _ALIKE * _RATE, _ALIKE * (1 - _RATE)), _snags(t, _MEAN, _SHAPE)


@lru_cache(maxsize=4096)
def _bad_check_likelihoods(t: Rework) -> tuple[float, float]:
    """Log likelihoods where the step is unclear, and where there is other trouble."""
    unclear = _came_right(t, *UNCLEAR) + _snags(t, UNCLEAR_SNAGS, 1.0)
    return float(unclear), float(_came_right(t, *OTHERWISE) + _snags(t, OTHER_SNAGS, 1.0))


class GuideRework:
    """What the checks of a guide say of each other's rework. `good`, `unclear` and `other` are (checks,): the log
    likelihoods where a check fits, where its step is unclear, and where there is other trouble."""

    def __init__(self, reworks: list[Rework]):
        kinds = sorted(set(reworks), key=repr)
        which = np.array([kinds.index(t) for t in reworks])
        self._tables = [np.array([_good_check_likelihoods(t)[i] for t in kinds])[which] for i in range(2)]
        self._parts = [log_sum(prior + table, axis=1) for prior, table in zip(_PRIORS, self._tables, strict=True)]
        self.unclear, self._troubled = np.array([_bad_check_likelihoods(t) for t in kinds])[which].T

    @property
    def good(self) -> np.ndarray:
        return self._parts[0] + self._parts[1]

    @property
    def other(self) -> np.ndarray:
        return np.logaddexp(self.good + np.log(LIKE_GOOD), self._troubled + np.log(1 - LIKE_GOOD))

    def learn(self, fitting: np.ndarray, otherwise: np.ndarray) -> None:
        """From each check's log likelihood if it fits, and if it does not, but for its rework if it fits."""
        for i, prior in enumerate(_PRIORS):
            table, beside = self._tables[i], fitting + self._parts[1 - i]
            own = np.logaddexp(beside[:, None] + table, otherwise[:, None])
            others = prior + own.sum(axis=0) - own
            self._parts[i] = log_sum(others + table, axis=1) - log_sum(others, axis=1)
