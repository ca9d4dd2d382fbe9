"""How likely a check's builds are under each explanation of their deviations, in closed form as far as may be.

Deviations are in half-bands: the band is -1 to 1. A group of builds about one centre is told by its number, mean and
sum of squares; its centre is integrated out, and its spread summed over a grid. Centres and distances far away have
priors that fall with the distance and never end, so that a figure off by fifty half-bands is as plain as one off by
two. A build over range is not a number: all that is known of it is that it lies beyond the limit at 1.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.special import betaln, gammaln, log_ndtr, logsumexp

GOOD = np.array(
    (0.1, 0.14, 0.18, 0.22, 0.26, 0.3, 0.35, 0.4, 0.45)
)  # spread of good builds, whose band holds nearly all of them
WIDE = np.geomspace(0.75, 9.0, 12)  # of builds that the band does not hold
WIDE_WEIGHT = -1.0 * np.log(WIDE / WIDE[0])
NEAR_SD, ROUGHLY_SD = 0.12, 0.12  # of centres that count as the guide's figure; of a wide group's centre
LEAST_OFF, LEAST_APART = (
    0.55,
    0.9,
)  # from which a figure is off, and two groups are two; half of all lie beyond twice that
LEANING = np.array(
    (0.0, 0.25, 0.5, 0.75, 1.0)
)  # where between two groups the guide's figure may lie, from the lower to the upper
LEANING_WEIGHT = np.log((0.35, 0.07, 0.16, 0.07, 0.35))
ASTRAY, ASTRAY_SCALE = 1.5, 6.0  # where single wrong builds begin, and how far they lie (half a Cauchy)
WRONG = (1.0, 9.0)  # beta prior of the share of builds that are wrong by themselves
ALIKE = 0.3  # share of several wrong builds that went wrong the same way, and so read the same
LEVEL = 1.0  # beyond which a build over range lies
NODES, WEIGHTS = np.polynomial.hermite_e.hermegauss(15)
REACH = np.linspace(-9, 9, 91)  # standard errors about a mean over which a centre is integrated


@dataclass(frozen=True)
class Sample:
    """`d`: sorted deviations (k,); `u`: the meter's uncertainty, half-bands; `over`: builds over range, beside them."""

    d: np.ndarray
    u: float
    over: int = 0

    @property
    def n(self) -> int:
        return len(self.d) + self.over

    def var(self, spreads):
        return np.asarray(spreads) ** 2 + self.u**2


def _tell(k, square, var):
    """Log likelihood of k values about an unknown centre, but for the density of their mean."""
    return -0.5 * ((k - 1) * np.log(2 * np.pi * var) + np.log(np.maximum(k, 1)) + square / var)


def _normal(x, var):
    return -0.5 * (np.log(2 * np.pi * var) + x**2 / var)


def _mean_of(logs, weight=0.0) -> float:
    logs = logs + np.zeros(len(logs)) if np.isscalar(weight) else logs + weight - logsumexp(weight) + np.log(len(logs))
    return float(logsumexp(logs) - np.log(len(logs)))


def near(s: Sample, spreads, centre_sd: float, weight=0.0) -> float:
    """One group about the guide's figure."""
    k, var = len(s.d), s.var(spreads)
    mean, square = (s.d.mean(), ((s.d - s.d.mean()) ** 2).sum()) if k else (0.0, 0.0)
    logs = _tell(k, square, var) + _normal(mean, centre_sd**2 + var / k) if k else np.zeros(len(var))
    if s.over:
        share = centre_sd**2 / (centre_sd**2 + var / k) if k else np.ones(len(var))
        centre, sd = mean * share, np.sqrt(centre_sd**2 * (1 - share)) if k else np.full(len(var), centre_sd)
        beyond = s.over * log_ndtr((centre[:, None] + sd[:, None] * NODES - LEVEL) / np.sqrt(var)[:, None])
        logs = logs + logsumexp(beyond + np.log(WEIGHTS / WEIGHTS.sum()), axis=1)
    return _mean_of(logs, weight)


def fits(s: Sample) -> float:
    return near(s, GOOD, NEAR_SD)


def too_tight(s: Sample) -> float:
    return near(s, WIDE, ROUGHLY_SD, WIDE_WEIGHT)


def _far(x, least):
    """Log density of a distance: nothing below `least` (softly), falling with its square beyond, without an end."""
    x = np.maximum(np.abs(x), 1e-9)
    return np.where(
        x >= least, np.log(least) - 2 * np.log(np.maximum(x, least)), -np.log(least) - 0.5 * ((least - x) / 0.04) ** 2
    )


def off(s: Sample) -> float:
    """One group about a figure that is not the guide's; far away it may scatter in proportion."""
    k, over = len(s.d), s.over
    if not k:  # nothing but builds over range
        centres = LEVEL + np.sinh(np.linspace(-1.5, 6, 301))
        step = np.gradient(centres)
        logs = (
            np.log(step)
            + _far(centres, LEAST_OFF)
            - np.log(2)
            + over * log_ndtr((centres - LEVEL) / np.sqrt(s.var(GOOD))[:, None])
        )
        return _mean_of(logsumexp(logs, axis=1))
    mean, square = s.d.mean(), ((s.d - s.d.mean()) ** 2).sum()
    most = max(GOOD[-1], 0.3 * abs(mean))
    spreads = (
        np.concatenate((GOOD, np.geomspace(0.55, most, max(2, int(4 * np.log(most / 0.5)))))) if most > 0.55 else GOOD
    )
    var = s.var(spreads)
    error = np.sqrt(var / k)[:, None]
    centres = mean + error * REACH
    inside = (
        -0.5 * REACH**2 + np.log(REACH[1] - REACH[0]) - 0.5 * np.log(2 * np.pi) + _far(centres, LEAST_OFF) - np.log(2)
    )
    if over:
        inside = inside + over * log_ndtr((centres - LEVEL) / np.sqrt(var)[:, None])
    return _mean_of(_tell(k, square, var) + logsumexp(inside, axis=1))


def _astray(x):
    """Log density of a build that is wrong by itself."""
    x = np.abs(x)
    whole = 1 - 2 / np.pi * np.arctan(ASTRAY / ASTRAY_SCALE)
    return -np.log(np.pi * ASTRAY_SCALE * whole) - np.log1p((x / ASTRAY_SCALE) ** 2) - 12.0 * np.maximum(0, ASTRAY - x)


def _sums(d):
    """Number, mean and sum of squares of the first 0, 1, ... of d."""
    k = np.arange(len(d) + 1)
    one, two = np.concatenate(([0.0], np.cumsum(d))), np.concatenate(([0.0], np.cumsum(d**2)))
    mean = one / np.maximum(k, 1)
    return k, mean, np.maximum(0.0, two - k * mean**2)


@lru_cache(maxsize=512)
def _wrong(n: int) -> np.ndarray:
    """Log probability that just these k of n builds are wrong, k from 0 to n, given that some are."""
    k, (a, b) = np.arange(n + 1), WRONG
    logs = betaln(k + a, n - k + b) - betaln(a, b)
    return logs - np.log1p(-np.exp(logs[0]))


def singles(s: Sample) -> float:
    """Near the guide's figure but for some builds, fewer than half, that lie anywhere; the farthest are the ones."""
    n, most = s.n, max(1, (s.n - 1) // 2)
    middle = np.median(np.concatenate((s.d, np.full(s.over, np.inf))))
    if s.over > most or not np.isfinite(middle):
        return -np.inf
    d = s.d[np.argsort(np.abs(s.d - middle), kind="stable")]
    wrong = np.arange(max(1, s.over), most + 1)  # how many
    k, mean, square = (x[n - wrong] for x in _sums(d))
    var = s.var(GOOD)[:, None]
    good = _tell(k, square, var) + _normal(mean, NEAR_SD**2 + var / k)
    j, centre, about = (x[wrong - s.over] for x in _sums(d[::-1]))  # the farthest
    each = np.concatenate(([0.0], np.cumsum(_astray(d[::-1]))))[j]
    alike = np.where(j >= 2, _tell(j, about, s.var(0.3)) + _astray(centre), each)
    bad = np.logaddexp(np.log(1 - ALIKE) + each, np.log(ALIKE) + alike) + s.over * np.log(0.5)
    return float(logsumexp(good + bad + _wrong(n)[wrong]) - np.log(len(GOOD)))


def batches(s: Sample) -> float:
    """Two groups, each close together, two builds or more in each, with the guide's figure at one of them or between
    them.

    The split is one of the sorted builds'; that others were thinkable is paid for. A quarter of the builds or fewer,
    far off, are builds that went wrong and no batch.
    """
    n, k = s.n, len(s.d)
    lower = np.arange(2, min(k, n - 2) + 1)
    if not len(lower) or (not s.over and np.abs(s.d).max() <= 0.6):
        return -np.inf
    k1, m1, square1 = (x[lower] for x in _sums(s.d))
    k2, m2, square2 = (x[k - lower] for x in _sums(s.d[::-1]))
    var = s.var(GOOD)[:, None]
    apart = np.where(k2 > 0, m2 - m1, np.inf)
    logs = _tell(k1, square1, var) + np.where(k2 > 0, _tell(k2, square2, var), 0.0)
    logs = logs + _placed(k1, m1, k2, np.where(k2 > 0, m2, 0.0), var)
    if s.over:
        logs = logs + np.where(k2 > 0, s.over * log_ndtr((m2 - LEVEL) / np.sqrt(var)), 0.0)
    logs = np.where(GOOD[:, None] <= np.maximum(0.3, 0.1 * np.where(k2 > 0, apart, 0.0)), logs, -np.inf)
    few = np.minimum(lower, n - lower) * 4 <= n
    logs = logs - np.where(few, np.clip(4 * (np.where(k2 > 0, apart, 9.0) - 2.2), 0, 6), 0.0)
    ways = gammaln(n + 1) - gammaln(lower + 1) - gammaln(n - lower + 1) + np.log(max(1, n - 3))
    return float(logsumexp(logs - ways) - np.log((GOOD <= 0.3).sum()))


def _placed(k1, m1, k2, m2, var):
    """Log density of two groups' means; where the upper one is over range, of its being there."""
    near_ = _normal(m1, NEAR_SD**2 + var / k1) + np.log(0.45) + _beyond(m1)
    t = LEANING[:, None, None]
    figure = m1 + t * (m2 - m1)
    between = _normal(figure, NEAR_SD**2 + var * ((1 - t) ** 2 / k1 + t**2 / np.maximum(k2, 1)))
    return np.where(
        k2 > 0, _far(m2 - m1, LEAST_APART) + logsumexp(between + LEANING_WEIGHT[:, None, None], axis=0), near_
    )


def _beyond(m1):
    """Log share of distances that lead from a group past the limit."""
    return np.log(np.minimum(1.0, LEAST_APART / np.maximum(LEVEL - m1, LEAST_APART)))
