"""Shares of few builds with their intervals."""

import math
from dataclasses import dataclass

from scipy.special import ndtri

from checks.errors import CallerError
from checks.finite import finite_figures


@finite_figures
@dataclass(frozen=True)
class Share:
    """`successes` of `n`, with a confidence interval; share is None when n is 0."""

    successes: int
    n: int
    low: float
    high: float

    @property
    def share(self) -> float | None:
        return self.successes / self.n if self.n else None


def wilson(successes: int, n: int, confidence: float = 0.95) -> Share:
    """Wilson's score interval (Wilson 1927; recommended for small n by Newcombe 1998). Raises ChecksError."""
    if not (0 <= successes <= n):
        raise CallerError(f"{successes} of {n} is not a share.", argument="successes")
    if not 0 < confidence < 1:
        raise CallerError("A confidence lies between 0 and 1.", argument="confidence")
    if n == 0:
        return Share(0, 0, 0.0, 1.0)
    z = float(ndtri(0.5 + confidence / 2))
    p, zz = successes / n, z * z
    centre = (p + zz / (2 * n)) / (1 + zz / n)
    half = z / (1 + zz / n) * math.sqrt(p * (1 - p) / n + zz / (4 * n * n))
    low = 0.0 if successes == 0 else max(0.0, centre - half)
    high = 1.0 if successes == n else min(1.0, centre + half)
    return Share(successes, n, low, high)
