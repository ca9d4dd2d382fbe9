"""What the deviations on one check mean: a Bayesian comparison of six explanations, with the probability of each.

Deviations are in half-bands from the guide's centre (the band is -1 to 1), at the guide's mains. Each explanation says how the
builds' deviations come about; its likelihood is averaged over what it leaves open (centre, spread, which builds), on a grid:

    fits              centre near 0, spread a part of the band
    figure off        centre somewhere else, spread a part of the band
    band too tight    centre near 0, spread about the band or more
    part batch        two groups, one of them near the guide's figure, each close together
    single builds     as fits, but for one build or two that may be anywhere
    step unclear      as fits, but builders miss at first and come right, or report snags

Priors are set by simulation (tests/checks/pooled/programmes.py): each explanation is found as often as promised, and a clean
guide of 120 checks raises less than one false finding.
"""
from dataclasses import dataclass

import numpy as np
from scipy.special import betaln, gammaln, logsumexp

from checks.errors import ChecksError
from checks.pooled.plain import claim, otherwise, reach

KINDS = ("fits", "figure off", "band too tight", "part batch", "single builds", "step unclear")
PRIOR = dict(zip(KINDS, (0.43, 0.03, 0.21, 0.24, 0.04, 0.05), strict=True))
EDITION = 4  # to be raised whenever the same readings would be told otherwise: what was kept of the edition before is then not used
FEWEST = 3  # builds below which nothing is said
SAID_AT = 0.45  # probability from which a finding is said
ASTRAY, FAR = 1.5, 15.0  # between which a single wrong build reads, in half-bands to either side
MOST = 60  # builds used for the explanations that look at each build
CLIP = 20.0
GOOD_SPREAD = (0.12, 0.18, 0.25, 0.32, 0.4)  # of good builds, whose band holds nearly all of them
WIDE_SPREAD = (0.6, 0.75, 0.95, 1.2, 1.6, 2.2)
NEAR = np.linspace(-0.6, 0.6, 13)
NEAR_SD = 0.15
OFF = np.concatenate((-np.geomspace(0.55, 6, 45)[::-1], np.geomspace(0.55, 6, 45)))  # small shifts are likelier than large
APART = np.concatenate((-np.geomspace(0.9, 5, 22)[::-1], np.geomspace(0.9, 5, 22)))
BATCH_SPREAD, BATCH_SHARE = (0.12, 0.2, 0.3), (0.25, 0.4, 0.5, 0.6, 0.75)


@dataclass(frozen=True)
class Evidence:
    """One check over its builds: last `deviations` (n,), the meter's uncertainty in half-bands, how many builds missed at first
    and came right, and snags about it. `one_sided`: the check has one limit, at 1 or -1, and no figure in the middle. `figure`: what
    the deviations are counted from, in words."""

    deviations: tuple[float, ...]
    u: float = 0.0
    came_right: int = 0
    snags: int = 0
    one_sided: bool = False
    figure: str = "the guide's figure"

    def __post_init__(self):
        if not all(np.isfinite(d) for d in self.deviations):
            raise ChecksError("Deviations are finite numbers; over range is counted apart.", argument="deviations")
        if not 0 <= self.came_right <= len(self.deviations) or self.snags < 0 or self.u < 0:
            raise ChecksError("Counts and uncertainties are zero or more, and no more builds came right than there are.",
                              argument="came_right")


@dataclass(frozen=True)
class Found:
    """The likeliest explanation, its probability and everybody else's; `kind` is "not enough" where nothing can be said."""

    kind: str
    probability: float
    each: dict[str, float]
    words: str
    shift: float  # median deviation in half-bands
    spread: float  # robust spread in half-bands

    @property
    def others(self) -> list[tuple[str, float]]:
        """The explanations that are still thinkable (1 % and more), likeliest first."""
        return sorted(((k, p) for k, p in self.each.items() if k != self.kind and p >= 0.01), key=lambda row: -row[1])

    @property
    def claim(self) -> str:
        """What it comes to and how sure that is, in plain words."""
        return claim(self.kind, self.probability if self.each else None)

    @property
    def otherwise(self) -> str:
        """The others in plain words."""
        return otherwise(self.others)


def find(evidence: Evidence) -> Found:
    return find_many([evidence])[0]


def find_many(evidence) -> list[Found]:
    """A finding for every check. Raises ChecksError as Evidence does."""
    return [_found(e, _posterior(e)) if len(e.deviations) >= FEWEST else _too_few(e) for e in evidence]


def _posterior(e: Evidence) -> dict[str, float]:
    d = np.clip(_against_limit(e.deviations) if e.one_sided else np.asarray(e.deviations, dtype=float), -CLIP, CLIP)
    few = d if len(d) <= MOST else np.random.default_rng(len(d)).choice(d, MOST, replace=False)
    good = _normal(d, NEAR, NEAR_SD, GOOD_SPREAD, e.u)
    logs = {
        "fits": good, "figure off": _normal(d, OFF, None, GOOD_SPREAD, e.u),
        "band too tight": _normal(d, NEAR, 0.3, WIDE_SPREAD, e.u), "single builds": _singles(few, e.u),
        "part batch": _batches(few, e.u) if np.abs(d).max() > 0.6 and _gap_leaves_two(d) else -np.inf, "step unclear": good}
    told = {kind: log + np.log(PRIOR[kind]) + _telling(e, kind) for kind, log in logs.items()}
    if len(few) < len(d):  # what looked at a part of the builds is compared on that part
        part = _normal(few, NEAR, NEAR_SD, GOOD_SPREAD, e.u)
        for kind in ("part batch", "single builds"):
            told[kind] += good - part
    whole = logsumexp(list(told.values()))
    return {kind: float(np.exp(log - whole)) for kind, log in told.items()}


def _against_limit(deviations) -> np.ndarray:
    """Where a check has only a limit, its builds' own middle stands for the figure and its distance from the limit for half a band.

    Being far inside is nobody's fault, so that side is cut off. Where the middle itself is past the limit, it is the limit that is off.
    """
    d = np.abs(np.asarray(deviations, dtype=float))
    middle = float(np.median(d))
    return d if middle >= 1 else np.clip((d - middle) / (1 - middle), -0.5, None)


def _normal(d, centres, centre_sd, spreads, u) -> float:
    """Log likelihood of one group, averaged over its centre and spread, from its sufficient statistics."""
    n, mean, square = len(d), d.mean(), ((d - d.mean()) ** 2).sum()
    var = np.asarray(spreads)[:, None] ** 2 + u**2
    logs = -0.5 * (n * np.log(2 * np.pi * var) + (square + n * (mean - centres[None, :]) ** 2) / var)
    weight = -0.5 * (centres / centre_sd) ** 2 if centre_sd else np.zeros(len(centres))
    weight = weight - logsumexp(weight)
    return float(logsumexp(logs + weight[None, :]) - np.log(len(spreads)))


def _density(d, centre, var):
    return -0.5 * (np.log(2 * np.pi * var) + (d - centre) ** 2 / var)


def _batches(d, u) -> float:
    """Two groups: one near the guide's figure, the other APART from it; at least two builds in each is what the shares expect."""
    near = np.linspace(-0.5, 0.5, 9)
    weight = -0.5 * (near / NEAR_SD) ** 2
    weight = weight - logsumexp(weight)
    total = []
    for spread in BATCH_SPREAD:
        var = spread**2 + u**2
        one = _density(d[None, :], near[:, None], var)  # (centres, builds)
        other = _density(d[None, None, :], near[:, None, None] + APART[None, :, None], var)  # (centres, apart, builds)
        for share in BATCH_SHARE:
            both = np.logaddexp(one[:, None, :] + np.log(1 - share), other + np.log(share)).sum(axis=2)
            total.append(logsumexp(both + weight[:, None]) - np.log(len(APART)))
    return float(logsumexp(total) - np.log(len(total)))


def _gap_leaves_two(d) -> bool:
    """Does the widest gap part at least two builds from the rest? One build by itself is no batch."""
    ordered = np.sort(d)
    at = int(np.argmax(np.diff(ordered))) + 1
    return min(at, len(d) - at) >= 2


def _singles(d, u) -> float:
    """As fits, but one or two builds (no more than a third) between ASTRAY and FAR; which ones is averaged over."""
    n = len(d)
    weight = -0.5 * (NEAR / NEAR_SD) ** 2
    weight = weight - logsumexp(weight)
    var = np.asarray(GOOD_SPREAD)[:, None, None] ** 2 + u**2
    each = _density(d[None, None, :], NEAR[None, :, None], var)  # (spreads, centres, builds)
    base = each.sum(axis=2)
    astray = np.where(np.abs(d) >= ASTRAY, -np.log(2 * (FAR - ASTRAY)), -np.log(2 * (FAR - ASTRAY)) - 12.0 * (ASTRAY - np.abs(d)))
    gain = astray - each
    one = logsumexp(gain, axis=2)
    logs = [base + one - np.log(n)]
    if n >= 6:
        first, second = np.triu_indices(n, 1)
        logs.append(base + logsumexp(gain[..., first] + gain[..., second], axis=2) - np.log(len(first)))
    mixed = logsumexp(logs, axis=0) - np.log(len(logs))
    return float(logsumexp(mixed + weight[None, :]) - np.log(len(GOOD_SPREAD)))


def _telling(e: Evidence, kind: str) -> float:
    """Log likelihood of the builders' trouble: came right after missing (beta-binomial), and snags (Poisson)."""
    a, b, rate = (3.0, 4.0, 1.2) if kind == "step unclear" else (1.0, 20.0, 0.08) if kind == "fits" else (1.0, 8.0, 0.4)
    n, r = len(e.deviations), e.came_right
    binomial = gammaln(n + 1) - gammaln(r + 1) - gammaln(n - r + 1) + betaln(r + a, n - r + b) - betaln(a, b)
    expected = rate * max(1.0, n / 8)
    return float(binomial + e.snags * np.log(expected) - expected - gammaln(e.snags + 1))


def _too_few(e: Evidence) -> Found:
    n = len(e.deviations)
    shift = float(np.median(e.deviations)) if n else 0.0
    return Found("not enough", 1.0, {}, f"Only {n} build{'' if n == 1 else 's'} measured this.", shift, 0.0)


def _found(e: Evidence, each: dict[str, float]) -> Found:
    d = np.asarray(e.deviations)
    shift = float(np.median(d))
    spread = float(np.median(np.abs(d - shift))) * 1.482602218505602
    kind = max(each, key=each.get)
    if each[kind] < SAID_AT:
        ahead = sorted(each, key=each.get, reverse=True)[:2]
        words = f"{len(d)} builds do not settle it: {' or '.join(otherwise([(kind, each[kind])]) for kind in ahead)}."
        return Found("not enough", each[kind], each, words, shift, spread)
    return Found(kind, each[kind], each, _words(kind, e, d, shift, spread), shift, spread)


def _words(kind: str, e: Evidence, d, shift: float, spread: float) -> str:
    n, out = len(d), int((np.abs(d) > 1).sum())
    side = "above" if shift > 0 else "below"
    return {
        "fits": f"{n} builds agree with the guide.",
        "figure off": f"{n} builds lie together past the guide's limit." if e.one_sided else
                      f"{n} builds lie together {side} {e.figure}: {reach(shift, 'it')}.",
        "band too tight": f"Good builds lie to both sides of the limit, {out} of {n} past it." if e.one_sided else
                          f"Good builds scatter to both sides of {e.figure} by more than the band allows: {out} of {n} are outside it.",
        "part batch": f"{n} builds fall into two groups: look for a part batch.",
        "single builds": f"{max(out, 1)} of {n} builds {'is' if out <= 1 else 'are'} far off; the others agree with the guide.",
        "step unclear": f"{e.came_right} of {n} builds missed at first and came right, with {e.snags} "
                        f"snag{'' if e.snags == 1 else 's'}: the figure is fine, the words are not.",
    }[kind]
