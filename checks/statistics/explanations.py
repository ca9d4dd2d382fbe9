"""How likely a check's builds are under each explanation of their deviations, for every spread of good builds.

Deviations are in half-bands: the band is -1 to 1. A group of builds about one centre enters by its number, mean and sum
of squares; its centre is integrated out. What remains open is the spread of good builds, a grid (SPREADS) over which a
guide's checks learn together (guide_model.py): every explanation returns its log likelihood for each spread. Centres
and distances far away have priors that fall with the distance and never end, so that a figure off by fifty half-bands
is as plain as one off by two. A build over range is not a number: all that is known of it is that it lies beyond the
limit, at LEVEL.
"""

from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from scipy.special import betaln, gammaln, log_ndtr

from checks.finite import refuse_unreal
from checks.statistics.logs import log_sum

SPREADS = np.geomspace(0.04, 0.55, 16)
WIDE = np.geomspace(0.55, 9.0, 15)  # spreads that the band does not hold; below NARROWEST the fewer the narrower
NARROWEST = 0.75
WIDE_WEIGHT = -np.log(WIDE / NARROWEST) - 5 * np.log(np.maximum(1, NARROWEST / WIDE))
CENTRE_SD, CENTRE_WEIGHT = np.array((0.07, 0.15)), np.log((0.7, 0.3))  # of centres that count as the guide's figure
WIDE_CENTRE_SD = 0.2
NONE_AT_FIGURE = 4.0
FEWEST_BY_CHANCE, BY_CHANCE = 5, 0.7  # builds that a label parts by chance, as those of no normal shape are; log odds
FEWEST_BESIDE_ONE, ONE_IS_NO_BATCH = 6, 10.0  # builds, and log odds
ODD_ONE = 3.0  # log odds; of fewer builds than those some label parts nearly any one
LEAST_OFF, LEAST_APART = 0.55, 0.9  # from which a figure is off, and two groups are two; half lie beyond twice that
LEANING = np.array((0.0, 0.25, 0.5, 0.75, 1.0))  # where the guide's figure may lie from the lower group to the upper
LEANING_WEIGHT = np.log((0.35, 0.07, 0.16, 0.07, 0.35))
TAIL, MOST_IN_TAIL = 0.02, 3  # share of good builds farther out, and how many are thought of
TAIL_WIDTHS, TAIL_WEIGHTS = np.array((2.0, 3.3)), np.log((0.75, 0.25))  # their spreads, in those of the others
PROPORTIONAL = 0.2  # prior that builds far from the guide's figure scatter in proportion to the distance
FEWEST_OFF = 5  # builds from which one among those about a wrong figure may be by itself
STRAY = 0.15  # prior that builds about a wrong figure have a wrong build among them
LONE, LONE_SCALE = 1.5, 6.0  # where single wrong builds begin, and how far they lie (half a Cauchy)
WRONG = (1.0, 9.0)  # beta prior of the share of builds that are wrong by themselves
ALIKE = 0.3  # share of two wrong builds that went wrong the same way, and so read the same
LEVEL = 1.5  # beyond which a build over range lies: a meter's range leaves room above the band
MOST_FOR_SEVERAL = 60  # builds: of more, a guide whose builds are mostly wrong has another trouble
MOST_SPLITS = 24  # of two groups, looked at where there are many builds
NODES, WEIGHTS = np.polynomial.hermite_e.hermegauss(15)
REACH = np.linspace(-9, 9, 91)  # standard errors about a mean over which a centre is integrated


@dataclass(frozen=True)
class Sample:
    """`d`: sorted deviations (k,); `u`: the meter's uncertainty, half-bands; `over`: builds over range beside them;
    `splits`: for each recorded label, boolean arrays (k,) that part the builds in two as the label does; `common`:
    standard deviation, half-bands, of what all builds may read too high together although the figure is right."""

    d: np.ndarray
    u: float
    over: int = 0
    splits: tuple[tuple[np.ndarray, ...], ...] = field(default=())
    common: float = 0.0

    def __post_init__(self):
        refuse_unreal(self, "u", "common", least=0)

    @property
    def centre_sd(self):
        return np.hypot(CENTRE_SD, self.common)

    @property
    def n(self) -> int:
        return len(self.d) + self.over

    def var(self, spreads=SPREADS):
        return np.asarray(spreads) ** 2 + self.u**2


def _group(k, square, var):
    """Log likelihood of k values about an unknown centre, but for the density of their mean."""
    return -0.5 * ((k - 1) * np.log(2 * np.pi * var) + np.log(np.maximum(k, 1)) + square / var)


def _normal(x, var):
    return -0.5 * (np.log(2 * np.pi * var) + x**2 / var)


def _log_density_about_figure(mean, var, centre_sd):
    """Log density of a group's mean about a centre that counts as the guide's figure; `var`: of the mean."""
    shape = (len(CENTRE_SD),) + (1,) * np.ndim(np.asarray(mean) + np.asarray(var))
    return log_sum(_normal(mean, centre_sd.reshape(shape) ** 2 + var) + CENTRE_WEIGHT.reshape(shape), axis=0)


def _mean_and_square(d) -> tuple[float, float]:
    mean = d.mean()
    return mean, ((d - mean) ** 2).sum()


def _near(s: Sample, spreads, centre_sd: float) -> np.ndarray:
    """One group about the guide's figure, for each spread."""
    k, var = len(s.d), s.var(spreads)
    mean, square = _mean_and_square(s.d) if k else (0.0, 0.0)
    logs = _group(k, square, var) + _normal(mean, centre_sd**2 + var / k) if k else np.zeros(len(var))
    if not s.over:
        return logs
    share = centre_sd**2 / (centre_sd**2 + var / k) if k else np.ones(len(var))
    centre, sd = mean * share, np.sqrt(centre_sd**2 * (1 - share)) if k else np.full(len(var), centre_sd)
    beyond = s.over * log_ndtr((centre[:, None] + sd[:, None] * NODES - LEVEL) / np.sqrt(var)[:, None])
    return logs + log_sum(beyond + np.log(WEIGHTS / WEIGHTS.sum()), axis=1)


def weigh_good(s: Sample) -> np.ndarray:
    """Good builds about the guide's figure."""
    return log_sum([_near(s, SPREADS, sd) + w for sd, w in zip(s.centre_sd, CENTRE_WEIGHT, strict=True)])


def weigh_good_with_tails(s: Sample) -> np.ndarray:
    """As `fits`, but that one to three of the builds lie farther out than a normal distribution has them."""
    most = 0 if s.over else min(MOST_IN_TAIL, s.n // 4)
    if not most:
        return np.full(len(SPREADS), -np.inf)
    logs, d = [], s.d[np.argsort(np.abs(s.d - np.median(s.d)), kind="stable")]
    for j in range(1, most + 1):
        (mean, square), k = _mean_and_square(d[:-j]), len(d) - j
        wide = (TAIL_WIDTHS[:, None] * SPREADS) ** 2 + s.u**2
        density = log_sum(_normal((d[-j:] - mean)[:, None, None], wide) + TAIL_WEIGHTS[:, None], axis=1)
        tail = density.sum(axis=0) + _in_tail(s.n, most)[j - 1]
        logs.append(_group(k, square, s.var()) + _log_density_about_figure(mean, s.var() / k, s.centre_sd) + tail)
    return log_sum(logs)


@lru_cache(maxsize=512)
def _in_tail(n: int, most: int) -> np.ndarray:
    """Log probability that just these j of n builds lie in the tail, j from 1 to `most`, given that some do."""
    j = np.arange(1, most + 1)
    logs = j * np.log(TAIL) + (n - j) * np.log1p(-TAIL)
    ways = gammaln(n + 1) - gammaln(j + 1) - gammaln(n - j + 1)
    return logs - log_sum(logs + ways)


def weigh_too_tight(s: Sample) -> np.ndarray:
    """Good builds that the band does not hold: the guide's other checks say nothing about how widely they scatter."""
    logs = log_sum(_near(s, WIDE, float(np.hypot(WIDE_CENTRE_SD, s.common))) + WIDE_WEIGHT) - log_sum(WIDE_WEIGHT)
    return np.full(len(SPREADS), logs)


def _far(x, least):
    """Log density of a distance: nothing below `least` (softly), falling with its square beyond, without an end."""
    x = np.maximum(np.abs(x), 1e-9)
    return np.where(
        x >= least, np.log(least) - 2 * np.log(np.maximum(x, least)), -np.log(least) - 0.5 * ((least - x) / 0.04) ** 2
    )


def weigh_figure_off(s: Sample) -> np.ndarray:
    """One group about a figure that is not the guide's, now and then with a wrong build or a few beside it."""
    if not len(s.d):
        return _weigh_all_over_range(s)
    alone = _off_group(s, s.d)
    is_asked = s.n >= FEWEST_OFF and not s.over
    counts = [j for j in (1, 2, 3, 5, 8, 12) if j <= s.n // 4 and j < len(s.d)] if is_asked else []
    if not counts:
        return alone
    d = s.d[np.argsort(np.abs(s.d - np.median(s.d)), kind="stable")]
    strays = [_off_group(s, d[:-j]) + _single_density(d[-j:] - np.median(d)).sum() + _wrong(s.n)[j] for j in counts]
    return np.logaddexp(alone + np.log(1 - STRAY), log_sum(strays, axis=0) + np.log(STRAY))


def _weigh_all_over_range(s: Sample) -> np.ndarray:
    """Nothing but builds over range."""
    centres = LEVEL + np.sinh(np.linspace(-1.5, 6, 301))
    density = np.log(np.gradient(centres)) + _far(centres, LEAST_OFF) - np.log(2)
    return log_sum(density + s.over * log_ndtr((centres - LEVEL) / np.sqrt(s.var())[:, None]), axis=1)


def _off_group(s: Sample, d) -> np.ndarray:
    """Far away builds may scatter in proportion to the distance, whatever those of the guide's other checks do."""
    most = 0.3 * abs(d.mean())
    logs = _off_at(s, d, SPREADS)
    if most <= 0.55:
        return logs
    wider = np.geomspace(0.55, most, max(2, int(4 * np.log(most / 0.5))))
    proportional = log_sum(_off_at(s, d, wider)) - np.log(len(wider))
    return np.logaddexp(logs + np.log(1 - PROPORTIONAL), proportional + np.log(PROPORTIONAL))


def _off_at(s: Sample, d, spreads) -> np.ndarray:
    k, (mean, square), var = len(d), _mean_and_square(d), s.var(spreads)
    centres = mean + np.sqrt(var / k)[:, None] * REACH
    step = np.log(REACH[1] - REACH[0]) - 0.5 * np.log(2 * np.pi) - np.log(2)
    inside = -0.5 * REACH**2 + _far(centres, LEAST_OFF) + step
    if s.over:
        inside = inside + s.over * log_ndtr((centres - LEVEL) / np.sqrt(var)[:, None])
    return _group(k, square, var) + log_sum(inside, axis=1)


def _single_density(x):
    """Log density of a build that is wrong by itself."""
    x = np.abs(x)
    whole = 1 - 2 / np.pi * np.arctan(LONE / LONE_SCALE)
    return -np.log(np.pi * LONE_SCALE * whole) - np.log1p((x / LONE_SCALE) ** 2) - 12.0 * np.maximum(0, LONE - x)


def _running_sums(d):
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


def weigh_few_wrong(s: Sample) -> np.ndarray:
    """Near the guide's figure but for some builds, fewer than half, that lie anywhere; the farthest are the ones."""
    most = max(1, (s.n - 1) // 2)
    return _near_but_for(s, max(1, s.over), most, float(np.median(np.concatenate((s.d, np.full(s.over, np.inf))))))


def weigh_many_wrong(s: Sample) -> np.ndarray:
    """Half of the builds or more went wrong, and those left are near the guide's figure."""
    first = max(1, (s.n - 1) // 2) + 1
    if s.n > MOST_FOR_SEVERAL:
        return np.full(len(SPREADS), -np.inf)
    return _near_but_for(s, max(first, s.over), s.n - 1, 0.0)


def _near_but_for(s: Sample, fewest: int, most: int, middle: float) -> np.ndarray:
    if fewest > most or not np.isfinite(middle):
        return np.full(len(SPREADS), -np.inf)
    n, d = s.n, s.d[np.argsort(np.abs(s.d - middle), kind="stable")]
    wrong = np.arange(fewest, most + 1)  # how many
    k, mean, square = (x[n - wrong] for x in _running_sums(d))
    var = s.var()[:, None]
    good = _group(k, square, var) + _log_density_about_figure(mean, var / k, s.centre_sd)
    j, centre, about = (x[wrong - s.over] for x in _running_sums(d[::-1]))  # the farthest
    lone = np.concatenate(([0.0], np.cumsum(_single_density(d[::-1]))))[j]
    alike = np.where(j >= 2, _group(j, about, s.var(0.3)) + _single_density(centre), lone)
    same = np.maximum(1, j - 1) * np.log(ALIKE)  # rarer the more they are
    bad = np.logaddexp(np.log1p(-np.exp(same)) + lone, same + alike) + s.over * np.log(0.5)
    return log_sum(good + bad + _wrong(n)[wrong], axis=1)


def weigh_batches(s: Sample) -> np.ndarray:
    """Two groups, each close together, two builds or more in each, with the guide's figure at one of them or between
    them.

    The split is one of the sorted builds'; that others were thinkable is paid for. A quarter of the builds or fewer,
    far off, are builds that went wrong and no batch. Where every build misses on the same side, neither group is at the
    guide's figure.
    """
    n, k = s.n, len(s.d)
    lower = np.arange(2, min(k, n - 2) + 1)
    if not len(lower) or (not s.over and np.abs(s.d).max() <= 0.45):
        return np.full(len(SPREADS), -np.inf)
    lower = lower[_choose_widest_gaps(s, lower)]
    k1, m1, square1 = (x[lower] for x in _running_sums(s.d))
    k2, m2, square2 = (x[k - lower] for x in _running_sums(s.d[::-1]))
    var = s.var()[:, None]
    logs = _two_groups(k1, m1, square1, k2, m2, square2, var, s.centre_sd)
    if s.over:
        logs = logs + np.where(k2 > 0, s.over * log_ndtr((m2 - LEVEL) / np.sqrt(var)), 0.0)
    apart = np.where(k2 > 0, m2 - m1, 9.0)
    few = np.minimum(lower, n - lower) * 4 <= n
    logs = logs - np.where(few, _rather_wrong(apart), 0.0)
    ways = gammaln(n + 1) - gammaln(lower + 1) - gammaln(n - lower + 1) + np.log(max(1, n - 3))
    return log_sum(logs - ways, axis=1) - _none_at_figure(s)


def _none_at_figure(s: Sample) -> float:
    """Log odds against two groups of which one is at the guide's figure, where every build misses on one side."""
    low, high = (s.d < -1).all() and not s.over, (s.d > 1).all()
    return NONE_AT_FIGURE if low or high else 0.0


def _choose_widest_gaps(s: Sample, lower):
    """Positions of the splits at the widest gaps; all of them where there are few builds."""
    if len(lower) <= MOST_SPLITS:
        return slice(None)
    gaps = np.append(np.diff(s.d), np.inf if s.over else 0.0)[lower - 1]
    return np.sort(np.argpartition(-gaps, MOST_SPLITS)[:MOST_SPLITS])


def weigh_labelled(s: Sample) -> np.ndarray:
    """Two groups as a recorded label parts the builds, one row for each label; every split of a label alike."""
    parts = np.array([part for of_label in s.splits for part in of_label], dtype=float)
    logs = _weigh_splits(s, parts)
    sizes = [len(of_label) for of_label in s.splits]
    ends = np.cumsum(sizes)
    against = _none_at_figure(s) + (BY_CHANCE if s.n >= FEWEST_BY_CHANCE else 0.0)
    rows = [log_sum(logs[:, end - size : end], axis=1) - np.log(size) for size, end in zip(sizes, ends, strict=True)]
    return np.array(rows) - against


def _weigh_splits(s: Sample, parts) -> np.ndarray:
    """(spreads, splits). One build that happens to be the only one of its label is rather a wrong build, the more the
    farther it is off; of six builds or more, one makes no batch. Of fewer, one that is farther from the guide's figure
    than the others is seldom one: that takes two that are off alike."""
    (k1, m1, square1), (k2, m2, square2) = _summarise_groups(s.d, parts), _summarise_groups(s.d, 1 - parts)
    swap = m1 > m2
    pairs = ((k1, k2), (m1, m2), (square1, square2))
    (k_low, m_low, s_low), (k_up, m_up, s_up) = (
        [np.where(swap, b, a) for a, b in pairs],
        [np.where(swap, a, b) for a, b in pairs],
    )
    logs = _two_groups(k_low, m_low, s_low, k_up, m_up, s_up, s.var()[:, None], s.centre_sd)
    alone = np.minimum(k1, k2) == 1
    odd_one_off = np.where(k1 == 1, np.abs(m1) > np.abs(m2), np.abs(m2) > np.abs(m1))
    few = ONE_IS_NO_BATCH if s.n >= FEWEST_BESIDE_ONE else np.where(odd_one_off, ODD_ONE, 0.0)
    against = np.maximum(_rather_wrong(np.abs(m1 - m2)), few)
    return logs - np.where(alone, against, 0.0) + s.over * np.log(0.5)


def _summarise_groups(d, parts):
    k, one = parts.sum(axis=1), parts @ d
    return k, one / k, np.maximum(0.0, parts @ d**2 - one**2 / k)


def _rather_wrong(apart):
    """Log odds by which few builds far from the others are wrong builds and no batch."""
    return np.clip(4 * (apart - 2.2), 0, 6)


def _two_groups(k1, m1, square1, k2, m2, square2, var, centre_sd):
    logs = _group(k1, square1, var) + np.where(k2 > 0, _group(k2, square2, var), 0.0)
    return logs + _log_density_of_two_means(k1, m1, k2, np.where(k2 > 0, m2, 0.0), var, centre_sd)


def _log_density_of_two_means(k1, m1, k2, m2, var, centre_sd):
    """Log density of two groups' means; where the upper one is over range, of its being there."""
    alone = _log_density_about_figure(m1, var / k1, centre_sd) + np.log(0.45) + _share_past_limit(m1)
    t = LEANING[:, None, None]
    figure = m1 + t * (m2 - m1)
    between = _log_density_about_figure(figure, var * ((1 - t) ** 2 / k1 + t**2 / np.maximum(k2, 1)), centre_sd)
    return np.where(
        k2 > 0, _far(m2 - m1, LEAST_APART) + log_sum(between + LEANING_WEIGHT[:, None, None], axis=0), alone
    )


def _share_past_limit(m1):
    """Log share of distances that lead from a group past the limit."""
    return np.log(np.minimum(1.0, LEAST_APART / np.maximum(LEVEL - m1, LEAST_APART)))
