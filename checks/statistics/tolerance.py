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
FEWEST_TO_PROPOSE = 5  # builds, after those far off are left out
MODEL_WORTH = 6  # builds that the circuit model's own spread is worth
OUTLIER, FEW = (
    3.5,
    8,
)  # robust deviations beyond which a build is left out; more of them for few builds, whose MAD is rough
SHORT = 0.01  # of a stop limit (or of half the band, if that is more), by which a band ends before it
NODES, WEIGHTS = np.polynomial.hermite_e.hermegauss(60)


@lru_cache(maxsize=512)
def factor(n: int, degrees: float, content: float = CONTENT, confidence: float = CONFIDENCE) -> float:
    """Two-sided k of mean ± k s: at least `content` of the population, with `confidence`, exactly (ISO 16269-6:2014,
    annex).

    `n` values give the mean, `degrees` of freedom the s. Raises ChecksError for fewer than two.
    """
    if n < 2 or degrees < 1:
        raise ChecksError("A tolerance interval needs two builds or more.", argument="n")
    if not (0 < content < 1 and 0 < confidence < 1):
        raise ChecksError("Content and confidence lie between 0 and 1.", argument="content")
    reach = np.array([_reach(z / math.sqrt(n), content) for z in NODES])

    def short(k):
        return (
            float((WEIGHTS * chi2.sf(degrees * reach**2 / k**2, degrees)).sum() / math.sqrt(2 * math.pi)) - confidence
        )

    return brentq(short, 1e-3, 1e4, xtol=1e-9)


def _reach(offset: float, content: float) -> float:
    """r with Φ(offset + r) - Φ(offset - r) = content."""
    return brentq(lambda r: float(ndtr(offset + r) - ndtr(offset - r)) - content, 0.0, 40.0, xtol=1e-12)


@dataclass(frozen=True)
class Proposal:
    """A figure with a band for the next revision, how many builds it rests on, and what held the band back, if
    anything."""

    figure: float
    low: float
    high: float
    n: int
    held: str = ""

    @property
    def digits(self) -> int:
        """Significant digits that keep low, figure and high apart when they are written down: to a tenth of the band's
        width."""
        largest = max(abs(self.low), abs(self.high))
        return min(9, max(3, math.floor(math.log10(largest)) + 1 - math.floor(math.log10((self.high - self.low) / 10))))


@dataclass(frozen=True)
class Withheld:
    """Why nothing is proposed, as a sentence. As good as no proposal: it is false where truth is asked for."""

    why: str

    def __bool__(self) -> bool:
        return False


def propose(
    values,
    *,
    u: float = 0.0,
    model_sd: float | None = None,
    stop_below: float | None = None,
    stop_above: float | None = None,
    rated: tuple[float, str] | None = None,
    across_zero: bool = False,
) -> Proposal | Withheld | None:
    """From builds' values at the guide's mains (SI): their centre and an interval for 95 % of future builds at 90 %
    confidence.

    Builds far off are left out. Future builds scatter by no less than `u`, the uncertainty of one reading, however
    alike these are. With the circuit model's own standard deviation, few builds count for less. The band ends short of
    a stop limit, and at what a part is `rated` for: (volts to either side of 0, the part). None for fewer than five
    builds. Withheld where the builds' own centre lies at or beyond a stop limit or the rating, which is no figure to
    put into a guide, where there is no width to give, and where the interval crosses zero (another polarity is no
    tolerance), unless the guide's own band does (`across_zero`).
    """
    data = np.asarray(list(values), dtype=float)
    if len(data) and not np.isfinite(data).all():
        raise ChecksError("Over-range readings are left out of a proposal.", argument="values")
    if u < 0 or not math.isfinite(u):
        raise ChecksError("An uncertainty is zero or more.", argument="u")
    kept = _without_strays(data, u)
    if len(kept) < FEWEST_TO_PROPOSE:
        return None
    n, centre = len(kept), float(kept.mean())
    half = _half(kept, u, model_sd)
    if half <= 1e-12 * abs(centre) or not half:
        return Withheld("All builds read alike, and how well their meters tell is not known: no band can be given.")
    low, high, held = centre - half, centre + half, ""
    for edge, side, name in _limits(half, stop_below, stop_above, rated):
        if (edge - centre) * side <= max(u, half / 10):
            return Withheld(
                f"The builds themselves read at or beyond {name}: nothing is proposed. Find out why before the "
                f"guide is "
                "touched."
            )
        if side > 0 and high > edge:
            high, held = edge, name
        elif side < 0 and low < edge:
            low, held = edge, name
    if low < 0 < high and not across_zero:
        return Withheld("The builds scatter too widely for a band on one side of zero: nothing is proposed.")
    return Proposal(_within(centre, low, high), low, high, n, held)


def _half(kept, u: float, model_sd: float | None) -> float:
    """Half the width of the interval."""
    degrees, var = float(len(kept) - 1), max(float(kept.var(ddof=1)), u**2)
    if model_sd is not None:
        var = (degrees * var + MODEL_WORTH * model_sd**2) / (degrees + MODEL_WORTH)
        degrees += MODEL_WORTH
    return factor(len(kept), degrees) * math.sqrt(var)


def _limits(half, stop_below, stop_above, rated) -> list[tuple[float, int, str]]:
    """[(where a band must end, 1 for the upper end and -1 for the lower, what holds it)]."""
    found = []
    if stop_above is not None:
        found.append((stop_above - SHORT * max(abs(stop_above), half), 1, "the stop limit above"))
    if stop_below is not None:
        found.append((stop_below + SHORT * max(abs(stop_below), half), -1, "the stop limit below"))
    if rated:
        found += [(side * rated[0], side, f"the rating of {rated[1]}") for side in (1, -1)]
    return found


def _within(centre: float, low: float, high: float) -> float:
    """The centre to the digits that the band makes sensible, and inside it."""
    figure = rounded(centre, min(high - centre, centre - low))
    return figure if low < figure < high else centre


def _without_strays(data, u: float):
    if len(data) < 4:
        return data
    middle = np.median(data)
    spread = max(np.median(np.abs(data - middle)) * 1.482602218505602, u)
    if not spread:  # more than half read the very same: what differs is a stray
        return data[data == middle]
    return data[np.abs(data - middle) <= OUTLIER * (1 + FEW / len(data)) * spread]


def rounded(value: float, half: float) -> float:
    """A figure to the digits its band makes sensible: a tenth of the half-width, in ones, twos and fives."""
    if not value or not half:
        return value
    power = 10.0 ** math.floor(math.log10(half / 10))
    step = next(s * power for s in (5, 2, 1) if s * power <= half / 10 * 1.0000001)
    return float(f"{round(value / step) * step:.12g}")
