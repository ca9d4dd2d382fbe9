"""Tolerance intervals of few builds (ISO 16269-6), and the figure and band to propose from them."""
import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtr
from scipy.stats import chi2

from checks.errors import ChecksError

CONTENT, CONFIDENCE = 0.95, 0.90
MODEL_WORTH = 6  # builds that the circuit model's own spread is worth
OUTLIER, FEW = 3.5, 8  # robust deviations beyond which a build is left out; more of them for few builds, whose MAD is rough
NODES, WEIGHTS = np.polynomial.hermite_e.hermegauss(60)


@lru_cache(maxsize=512)
def factor(n: int, degrees: float, content: float = CONTENT, confidence: float = CONFIDENCE) -> float:
    """Two-sided k of mean ± k s: at least `content` of the population, with `confidence`, exactly (ISO 16269-6:2014, annex).

    `n` values give the mean, `degrees` of freedom the s. Raises ChecksError for fewer than two.
    """
    if n < 2 or degrees < 1:
        raise ChecksError("A tolerance interval needs two builds or more.", argument="n")
    if not (0 < content < 1 and 0 < confidence < 1):
        raise ChecksError("Content and confidence lie between 0 and 1.", argument="content")
    reach = np.array([_reach(z / math.sqrt(n), content) for z in NODES])

    def short(k):
        return float((WEIGHTS * chi2.sf(degrees * reach**2 / k**2, degrees)).sum() / math.sqrt(2 * math.pi)) - confidence
    return brentq(short, 1e-3, 1e4, xtol=1e-9)


def _reach(offset: float, content: float) -> float:
    """r with Φ(offset + r) - Φ(offset - r) = content."""
    return brentq(lambda r: float(ndtr(offset + r) - ndtr(offset - r)) - content, 0.0, 40.0, xtol=1e-12)


@dataclass(frozen=True)
class Proposal:
    """A figure with a band for the next revision, how many builds it rests on, and what held the band back, if anything."""

    figure: float
    low: float
    high: float
    n: int
    held: str = ""


def propose(values, *, model_sd: float | None = None, stop_below: float | None = None,
            stop_above: float | None = None, rated: tuple[float, str] | None = None) -> Proposal | None:
    """From builds' values at the guide's mains (SI): the median and an interval for 95 % of future builds at 90 % confidence.

    Builds far off are left out. With the circuit model's own standard deviation, few builds count for less. The band ends
    short of a stop limit, and at what a part is `rated` for: (volts to either side of 0, the part). None for fewer than three builds,
    and where the builds' own centre lies beyond the rating: that is no figure to put into a guide.
    """
    data = np.asarray(list(values), dtype=float)
    if len(data) and not np.isfinite(data).all():
        raise ChecksError("Over-range readings are left out of a proposal.", argument="values")
    kept = _without_strays(data)
    if len(kept) < 3:
        return None
    n, centre, var, degrees = len(kept), float(kept.mean()), float(kept.var(ddof=1)), float(len(kept) - 1)
    if model_sd is not None:
        var = (degrees * var + MODEL_WORTH * model_sd**2) / (degrees + MODEL_WORTH)
        degrees += MODEL_WORTH
    half = factor(n, degrees) * math.sqrt(var)
    if rated and abs(centre) >= rated[0]:
        return None
    low, high, held = _inside(centre - half, centre + half, stop_below, stop_above)
    if rated and max(high, -low) > rated[0]:
        low, high, held = max(low, -rated[0]), min(high, rated[0]), f"the rating of {rated[1]}"
    return Proposal(rounded(centre, half), low, high, n, held)


def _without_strays(data):
    if len(data) < 4:
        return data
    middle = np.median(data)
    spread = np.median(np.abs(data - middle)) * 1.482602218505602
    return data if spread == 0 else data[np.abs(data - middle) <= OUTLIER * (1 + FEW / len(data)) * spread]


def _inside(low, high, stop_below, stop_above):
    held = ""
    if stop_above is not None and high >= stop_above:
        high, held = stop_above * (0.99 if stop_above > 0 else 1.01), "the stop limit above"
    if stop_below is not None and low <= stop_below:
        low, held = stop_below * (1.01 if stop_below > 0 else 0.99), "the stop limit below"
    return low, high, held


def rounded(value: float, half: float) -> float:
    """A figure to the digits its band makes sensible: a tenth of the half-width, in ones, twos and fives."""
    if not value or not half:
        return value
    power = 10.0 ** math.floor(math.log10(half / 10))
    step = next(s * power for s in (5, 2, 1) if s * power <= half / 10 * 1.0000001)
    return float(f"{round(value / step) * step:.12g}")
