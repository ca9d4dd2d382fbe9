"""What builds show of good builds in whatever way those scatter (S. S. Wilks, Ann. Math. Statist. 12:91, 1941).

Of n builds, so much of all lies between the lowest and the highest: a beta distribution with n - 1 and 2, since the
shares between neighbours are alike in distribution.
"""

from functools import lru_cache

from scipy.stats import beta

from checks.errors import CallerError


@lru_cache(maxsize=256)
def content_of_range(n: int, confidence: float) -> float:
    """The share of good builds that lies between the lowest and the highest of n of them, at least, with `confidence`.
    Raises CallerError for fewer than two."""
    if n < 2 or not 0 < confidence < 1:
        raise CallerError("A range needs two builds or more, and a confidence between 0 and 1.", argument="n")
    return float(beta.ppf(1 - confidence, n - 1, 2))
