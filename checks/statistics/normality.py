"""Do the builds scatter as a normal distribution does? A tolerance interval of few builds promises nothing if not.

Shapiro and Wilk's test (Biometrika 52:591, 1965) of each check. Few builds seldom show what they are, but a guide's
checks show it together: of normal ones a tenth has a p below 0.1, and more than chance makes of it speaks against all.
"""

from collections.abc import Iterable

import numpy as np
from scipy import stats

FEWEST, MOST = 5, 5000  # values that the test is asked of; its p is not exact for more
FEWEST_ALONE = 8  # builds from which a check by itself shows that it is not normal
ALONE = 0.01  # p below which it is not
COUNTED, OF_GUIDE = 0.1, 0.01  # p of the checks that are counted, and of so many of them
FEWEST_CHECKS = 10
DISTINCT = 0.8  # share of the values that differ: a meter's last digit makes others alike


def normality_of(values) -> float | None:
    """The p of the test; None where it can't be asked."""
    data = np.asarray(values, dtype=float)
    if not FEWEST <= len(data) <= MOST or len(np.unique(data)) < DISTINCT * len(data):
        return None
    return float(stats.shapiro((data - data.mean()) / data.std()).pvalue)


def is_check_normal(n: int, p: float | None) -> bool:
    return p is None or n < FEWEST_ALONE or p >= ALONE


def is_guide_normal(ps: Iterable[float | None]) -> bool:
    """From the p of every check. Too few of them speak against nothing."""
    known = [p for p in ps if p is not None]
    if len(known) < FEWEST_CHECKS:
        return True
    return bool(stats.binom.sf(sum(p < COUNTED for p in known) - 1, len(known), COUNTED) >= OF_GUIDE)
