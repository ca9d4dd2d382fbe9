"""Before and after: two shares of few builds, and whether they differ."""

from dataclasses import dataclass
from enum import StrEnum
from math import sqrt

from scipy.stats import fisher_exact

from checks.errors import CallerError
from checks.finite import finite_figures
from checks.statistics.proportions import Share, wilson

SURE = 0.05
MATTERS = 0.2  # a difference of shares that would matter


class Change(StrEnum):
    """`ALIKE`: no difference that matters; `UNKNOWN`: too few builds to say any of these."""

    BETTER = "better"
    WORSE = "worse"
    ALIKE = "alike"
    UNKNOWN = "can't tell"


@finite_figures
@dataclass(frozen=True)
class Difference:
    """after - before as shares, Newcombe's interval, Fisher's two-sided p."""

    before: Share
    after: Share
    difference: float | None
    low: float
    high: float
    p: float
    verdict: Change


def compare(
    before_successes: int, before_n: int, after_successes: int, after_n: int, *, confidence: float = 0.95
) -> Difference:
    """Difference of two shares of successes (more is better) with the interval of R. G. Newcombe, Statist. Med. 17:873
    (1998), method 10, and Fisher's exact test. Raises ChecksError for counts that are no shares."""
    before, after = wilson(before_successes, before_n, confidence), wilson(after_successes, after_n, confidence)
    if before.share is None or after.share is None:
        return Difference(before, after, None, -1.0, 1.0, 1.0, Change.UNKNOWN)
    p1, p2 = after.share, before.share
    low = p1 - p2 - sqrt((p1 - after.low) ** 2 + (before.high - p2) ** 2)
    high = p1 - p2 + sqrt((after.high - p1) ** 2 + (p2 - before.low) ** 2)
    p = float(
        fisher_exact(
            [[after_successes, after_n - after_successes], [before_successes, before_n - before_successes]]
        ).pvalue
    )
    return Difference(before, after, p1 - p2, low, high, p, _verdict(low, high, p))


def _verdict(low: float, high: float, p: float) -> Change:
    """That nothing changed is said only where the whole interval is of differences too small to matter: a large p is no
    proof of that."""
    if p < SURE and low > 0:
        return Change.BETTER
    if p < SURE and high < 0:
        return Change.WORSE
    return Change.ALIKE if low > -MATTERS and high < MATTERS else Change.UNKNOWN


def clean_builds_needed(
    successes: int, n: int, least: float, *, most: int = 200, confidence: float = 0.95
) -> int | None:
    """How many more builds without a miss bring the lower bound of the share to `least`; None beyond `most`.

    Raises ChecksError for a bound that no number of builds reaches.
    """
    if not 0 < least < 1:
        raise CallerError("A lower bound lies between 0 and 1.", argument="least")
    return next((k for k in range(most + 1) if wilson(successes + k, n + k, confidence).low >= least), None)
