"""Do the builds scatter as a normal distribution does? A tolerance interval of few builds promises nothing if not.

Shapiro and Wilk's test (Biometrika 52:591, 1965) of each check. Few builds seldom show what they are, but a guide's
checks show it together: of normal ones a tenth has a p below 0.1, their skewness adds up to none, and their kurtosis to
what so many values have. More of either than chance makes speaks against all. Moments of normal samples: R. A. Fisher,
Proc. R. Soc. A 130:16, 1930.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from scipy import stats

from checks.finite import finite_figures

FEWEST, MOST = 5, 5000  # values that the test is asked of; its p is not exact for more
FEWEST_ALONE = 8  # builds from which a check by itself shows that it is not normal
ALONE = 0.01  # p below which it is not
COUNTED = 0.1  # p of the checks that are counted
OF_GUIDE = 0.01  # p of what a guide's checks come to; three such are asked
FARTHEST = 3.0  # standard errors that one check counts for at most: a wrong build is no shape
FEWEST_CHECKS = 10  # that speak against a guide
FEWEST_TO_SHOW = 12  # builds, of so many checks, that show what shape they have: fewer hide heavy tails
DISTINCT = 0.8  # share of the values that differ: a meter's last digit makes others alike


class GuideShape(StrEnum):
    """What all checks of a guide say of how its builds scatter."""

    NORMAL = "normal"
    NOT_NORMAL = "not normal"
    NOT_SHOWN = "not shown"


@finite_figures
@dataclass(frozen=True)
class Shape:
    """`n` values; `p` of the test; `skew` and `tails`: skewness and excess of kurtosis in standard errors of normal
    values."""

    n: int
    p: float
    skew: float
    tails: float


def assess_shape(values) -> Shape | None:
    """None where it can't be asked."""
    data = np.asarray(values, dtype=float)
    n = len(data)
    if not FEWEST <= n <= MOST or len(np.unique(data)) < DISTINCT * n:
        return None
    z = (data - data.mean()) / data.std()
    skew = (z**3).mean() / np.sqrt(6 * (n - 2) / ((n + 1) * (n + 3)))
    usual, var = 3 * (n - 1) / (n + 1), 24 * n * (n - 2) * (n - 3) / ((n + 1) ** 2 * (n + 3) * (n + 5))
    return Shape(n, float(stats.shapiro(z).pvalue), float(skew), float(((z**4).mean() - usual) / np.sqrt(var)))


def is_check_normal(shape: Shape | None) -> bool:
    return shape is None or shape.n < FEWEST_ALONE or shape.p >= ALONE


def shape_of_guide(shapes: Iterable[Shape | None]) -> GuideShape:
    """From the shape of every check. Too few of them show nothing, and so do too few builds that look normal."""
    known = [s for s in shapes if s is not None]
    if len(known) < FEWEST_CHECKS:
        return GuideShape.NOT_SHOWN
    odd = stats.binom.sf(sum(s.p < COUNTED for s in known) - 1, len(known), COUNTED)
    skew, tails = (_combine_groups([getattr(s, name) for s in known]) for name in ("skew", "tails"))
    if min(odd, 2 * stats.norm.sf(abs(skew)), stats.norm.sf(tails)) < OF_GUIDE:
        return GuideShape.NOT_NORMAL
    full = sum(s.n >= FEWEST_TO_SHOW for s in known)
    return GuideShape.NORMAL if full >= FEWEST_CHECKS else GuideShape.NOT_SHOWN


def _combine_groups(standardised: list[float]) -> float:
    return float(np.clip(standardised, -FARTHEST, FARTHEST).sum() / np.sqrt(len(standardised)))
