"""What the deviations on one check mean: a Bayesian comparison of six explanations, with the probability of each.

Deviations are in half-bands from the guide's centre (the band is -1 to 1), at the guide's mains. Each explanation says
how the builds' deviations come about (checks/pooled/explanations.py); its likelihood is averaged over what it leaves
open:

    fits              centre near 0, spread a part of the band
    figure off        centre somewhere else, however far; spread a part of the band, or of the distance
    band too tight    centre near 0, spread about the band or more
    part batch        two groups, each close together, with the guide's figure at one of them or between them
    single builds     as fits, but for a build or a few that may be anywhere
    step unclear      as fits, but builders miss at first and come right, or report snags

Priors are set by simulation (tests/checks/pooled/programmes.py): each explanation is found as often as promised, and a
clean guide of 120 checks raises less than one false finding. Of few builds, and of bands that good builds nearly fill,
a finding is said only where `fits` has become unlikely enough (LEAVE).
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import betaln, gammaln, logsumexp

from checks.errors import ChecksError
from checks.statistics import explanations
from checks.statistics.explanations import Sample
from checks.statistics.plain import claim, otherwise, reach
from checks.statistics.summary import MAD_TO_SD

KINDS = ("fits", "figure off", "band too tight", "part batch", "single builds", "step unclear")
PRIOR = dict(zip(KINDS, (0.428, 0.042, 0.325, 0.155, 0.031, 0.019), strict=True))
# to be raised whenever the same readings would be told otherwise: what was kept of the edition before is then not used
EDITION = 9
FEWEST = 3  # builds below which nothing is said
LEAST_SPREAD = 0.45  # robust, half-bands, from which builds that miss on one side alone show a band too tight
SAID_AT = 0.4  # probability from which a finding is said
# The probability that nothing is wrong beyond which a finding is not said, at some numbers of builds (between them by
# its logarithm).
# Three to five builds that scatter by 0.45 half-bands, as good ones may, look like any of these now and then. At eight,
# nine in ten
# bands that are too tight can be found only at the price of more false ones on such wide checks: no statistic of the
# deviations does
# both, as their sum of squares shows (tests/checks/pooled/test_false_findings.py).
LEAVE = {
    "figure off": ((5, 8), (0.08, 0.25)),
    "band too tight": ((5, 8, 12), (0.02, 1.0, 0.08)),
    "part batch": ((4, 5, 8, 12), (0.04, 0.08, 0.35, 0.15)),
}


@dataclass(frozen=True)
class Evidence:
    """One check over its builds: last `deviations` (n,), the meter's uncertainty in half-bands, how many builds missed
    at first and came right, and snags about it. `one_sided`: the check has one limit, at 1 or -1, and no figure in the
    middle. `figure`: what the deviations are counted from, in words. `over`: builds beside them that were over range
    where less was wanted; of those it is only known that they lie past the upper limit."""

    deviations: tuple[float, ...]
    u: float = 0.0
    came_right: int = 0
    snags: int = 0
    one_sided: bool = False
    figure: str = "the guide's figure"
    over: int = 0

    @property
    def n(self) -> int:
        return len(self.deviations) + self.over

    def __post_init__(self):
        if not all(np.isfinite(d) for d in self.deviations) or self.over < 0:
            raise ChecksError("Deviations are finite numbers; over range is counted apart.", argument="deviations")
        if not 0 <= self.came_right <= self.n or self.snags < 0 or self.u < 0:
            raise ChecksError(
                "Counts and uncertainties are zero or more, and no more builds came right than there are.",
                argument="came_right",
            )


@dataclass(frozen=True)
class Found:
    """The likeliest explanation, its probability and everybody else's; `kind` is "not enough" where nothing can be
    said."""

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
    return [_found(e, _posterior(e)) if e.n >= FEWEST else _too_few(e) for e in evidence]


def _posterior(e: Evidence) -> dict[str, float]:
    s = Sample(np.sort(_against_limit(e) if e.one_sided else np.asarray(e.deviations, dtype=float)), e.u, e.over)
    good = explanations.fits(s)
    logs = {
        "fits": good,
        "figure off": explanations.off(s),
        "band too tight": explanations.too_tight(s),
        "part batch": explanations.batches(s),
        "single builds": explanations.singles(s),
        "step unclear": good,
    }
    told = {kind: log + np.log(PRIOR[kind]) + _telling(e, kind) for kind, log in logs.items()}
    whole = logsumexp(list(told.values()))
    return {kind: float(np.exp(log - whole)) for kind, log in told.items()}


def _against_limit(e: Evidence) -> np.ndarray:
    """Where a check has only a limit, its builds' own middle stands for the figure and its distance from the limit for
    half a band.

    Being far inside is nobody's fault, so that side is cut off. Where the middle itself is past the limit, it is the
    limit that is off.
    """
    d = np.abs(np.asarray(e.deviations, dtype=float))
    middle = float(np.median(np.concatenate((d, np.full(e.over, np.inf)))))
    return d if middle >= 1 else np.clip((d - middle) / (1 - middle), -0.5, None)


def _telling(e: Evidence, kind: str) -> float:
    """Log likelihood of the builders' trouble: came right after missing (beta-binomial), and snags (Poisson)."""
    a, b, rate = (3.0, 4.0, 1.2) if kind == "step unclear" else (1.0, 20.0, 0.08) if kind == "fits" else (1.0, 8.0, 0.4)
    n, r = e.n, e.came_right
    binomial = gammaln(n + 1) - gammaln(r + 1) - gammaln(n - r + 1) + betaln(r + a, n - r + b) - betaln(a, b)
    expected = rate * max(1.0, n / 8)
    return float(binomial + e.snags * np.log(expected) - expected - gammaln(e.snags + 1))


def _too_few(e: Evidence) -> Found:
    return Found("not enough", 1.0, {}, f"Only {e.n} build{'' if e.n == 1 else 's'} measured this.", _middle(e)[0], 0.0)


def _middle(e: Evidence) -> tuple[float, float]:
    """Median and robust spread; a build over range counts as past everything measured."""
    d = np.asarray(e.deviations + (max(1.0, *e.deviations, 0.0),) * e.over)
    shift = float(np.median(d)) if len(d) else 0.0
    return shift, float(np.median(np.abs(d - shift))) * MAD_TO_SD if len(d) else 0.0


def _shows_scatter(e: Evidence) -> bool:
    """Do the builds themselves show a band too tight: misses on both sides, or a spread of five builds or more that no
    two or three of them make? Two wrong builds of three are no scatter."""
    d = np.concatenate((_against_limit(e) if e.one_sided else np.asarray(e.deviations), np.full(e.over, 9.0)))
    if (d > 1).any() and (d < -1).any():
        return True
    spread = float(np.median(np.abs(d - np.median(d)))) * MAD_TO_SD
    return e.n >= 5 and spread >= LEAST_SPREAD


def _may_be_said(kind: str, each: dict[str, float], e: Evidence) -> bool:
    if kind == "band too tight" and not _shows_scatter(e):
        return False
    n = e.n
    at, most = LEAVE.get(kind, ((1,), (1.0,)))
    return each[kind] >= SAID_AT and (kind == "fits" or each["fits"] <= np.exp(np.interp(n, at, np.log(most))))


def _found(e: Evidence, each: dict[str, float]) -> Found:
    shift, spread = _middle(e)
    kind = max(each, key=each.get)
    if not _may_be_said(kind, each, e):
        ahead = sorted(each, key=each.get, reverse=True)[:2]
        words = f"{e.n} builds do not settle it: {' or '.join(otherwise([(kind, each[kind])]) for kind in ahead)}."
        return Found("not enough", each[kind], each, words, shift, spread)
    return Found(kind, each[kind], each, _words(kind, e, shift) + _over_words(e), shift, spread)


def _over_words(e: Evidence) -> str:
    return f" Over range: {e.over} of {e.n}." if e.over else ""


def _words(kind: str, e: Evidence, shift: float) -> str:
    n, out = e.n, e.over + sum(abs(d) > 1 for d in e.deviations)
    side = "above" if shift > 0 else "below"
    return {
        "fits": f"{n} builds agree with the guide.",
        "figure off": f"{n} builds lie together past the guide's limit."
        if e.one_sided or 2 * e.over >= n
        else f"{n} builds lie together {side} {e.figure}, {reach(shift, 'it')}.",
        "band too tight": f"Good builds lie to both sides of the limit, {out} of {n} past it."
        if e.one_sided or e.over
        else f"Good builds scatter to both sides of {e.figure} by more than the band allows: {out} of "
        f"{n} are outside it.",
        "part batch": f"{n} builds fall into two groups: look for a part batch.",
        "single builds": f"{max(out, 1)} of {n} builds {'is' if out <= 1 else 'are'} far off; the others agree with the guide.",
        "step unclear": f"{e.came_right} of {n} builds missed at first and came right, with {e.snags} "
        f"snag{'' if e.snags == 1 else 's'}: the figure is fine, the words are not.",
    }[kind]
