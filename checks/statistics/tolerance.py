"""Tolerance intervals of few builds (ISO 16269-6), and the figure and band to propose from them."""

import math
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtr
from scipy.stats import chi2
from scipy.stats import t as student

from checks.errors import CallerError
from checks.finite import finite_arguments, finite_figures, refuse_unreal
from checks.statistics.normality import FEWEST_TO_SHOW, GuideShape, Shape, assess_shape, is_check_normal
from checks.statistics.order_statistics import content_of_range
from checks.statistics.summary import MAD_TO_SD

CONFIDENCE = 0.90  # with which a band holds the share that is stated
THROUGH = 0.90  # wanted share of good builds that pass every check of a guide
LEAST_CONTENT = 0.95  # that a band holds, however few checks a guide has
FEWEST_TO_PROPOSE = 5  # builds, after those far off are left out
OUTLIER, FEW = 3.5, 16  # robust deviations beyond which a build is left out; more of them for few, whose MAD is rough
SHORT = 0.01  # of a stop limit (or of half the band, if that is more), by which a band ends before it
NODES, WEIGHTS = np.polynomial.hermite_e.hermegauss(60)


def content_for(checks: int, through: float = THROUGH) -> float:
    """The share of good builds that each of so many bands has to hold, so that `through` of them pass all bands. Taken
    as independent, which asks for more than is needed where readings go together. Raises ChecksError."""
    if checks < 1 or not 0 < through < 1:
        raise CallerError("A guide has one check or more, and a share lies between 0 and 1.", argument="checks")
    return max(LEAST_CONTENT, through ** (1 / checks))


@lru_cache(maxsize=1024)
def factor(n: int, degrees: float, content: float = LEAST_CONTENT, confidence: float = CONFIDENCE) -> float:
    """Two-sided k of mean ± k s: at least `content` of the population, with `confidence`, exactly (ISO 16269-6:2014,
    annex).

    `n` values give the mean, `degrees` of freedom the s. Raises ChecksError for fewer than two.
    """
    if n < 2 or degrees < 1:
        raise CallerError("A tolerance interval needs two builds or more.", argument="n")
    if not (0 < content < 1 and 0 < confidence < 1):
        raise CallerError("Content and confidence lie between 0 and 1.", argument="content")
    return brentq(lambda k: compute_confidence(k, n, degrees, content) - confidence, 1e-3, 1e4, xtol=1e-9)


@finite_arguments
def compute_confidence(k: float, n: int, degrees: float, content: float) -> float:
    """With which mean ± k s holds at least `content` of the population."""
    return float(
        (WEIGHTS * chi2.sf(degrees * _reaches(n, content) ** 2 / k**2, degrees)).sum() / math.sqrt(2 * math.pi)
    )


@lru_cache(maxsize=1024)
def _reaches(n: int, content: float) -> np.ndarray:
    """r with Φ(offset + r) - Φ(offset - r) = content, for every offset of the mean that is integrated over."""
    offset = NODES / math.sqrt(n)
    low, high = np.zeros(len(NODES)), np.full(len(NODES), 60.0)
    for _ in range(60):
        middle = (low + high) / 2
        short = ndtr(offset + middle) - ndtr(offset - middle) < content
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    return (low + high) / 2


@finite_arguments
def prediction_factor(n: int, degrees: float, content: float) -> float:
    """k of mean ± k s that holds `content` of the population on average (ISO 16269-8, for one further value)."""
    return float(student.ppf(0.5 + content / 2, degrees)) * math.sqrt(1 + 1 / n)


@dataclass(frozen=True)
class Scatter:
    """How the builds of one check scatter once those far off are left out: number, mean and variance (SI).
    `shape`: whether they scatter normally; None where it can't be asked."""

    n: int
    centre: float
    var: float
    u: float = 0.0  # uncertainty of one reading
    shape: Shape | None = None

    def __post_init__(self):
        refuse_unreal(self, "centre")
        refuse_unreal(self, "var", "u", least=0)

    @property
    def floor(self) -> float:
        """The variance, which is no less than that of a reading, however alike few readings are."""
        return max(self.var, self.u**2)


@dataclass(frozen=True)
class SharedScatter:
    """What the other checks of a guide say of one's variance: `var`, worth so many `degrees` of freedom."""

    var: float
    degrees: float

    def __post_init__(self):
        refuse_unreal(self, "var", "degrees", least=0)


class Limit(StrEnum):
    """What a proposed band may not reach past."""

    STOP_ABOVE = "stop above"
    STOP_BELOW = "stop below"
    RATING = "rating"


class Reason(StrEnum):
    """Why nothing is proposed."""

    ALIKE = "readings alike"
    BEYOND = "beyond a limit"
    ACROSS_ZERO = "across zero"
    OVER_RANGE = "over range"
    NOT_NORMAL = "not normal"


@finite_figures
@dataclass(frozen=True)
class Limits:
    """Where a check's band must end: stop limits, and `rated`: (volts to either side of 0, the part). `across_zero`:
    the guide's own band reaches over zero, so that another polarity is none."""

    stop_below: float | None = None
    stop_above: float | None = None
    rated: tuple[float, str] | None = None
    across_zero: bool = False


@dataclass(frozen=True)
class Proposal:
    """A figure with a band for the next revision, how many builds it rests on, and what shortened the band, if
    anything. With `confidence` the band holds `content` of good builds, but for its shortening; `through` of them pass
    all `checks` of the guide, if each has such a band. All of that if builds scatter normally, and so it is promised
    only where those of the guide show that they do (`is_promised`). What any builds show is `content_shown`."""

    figure: float
    low: float
    high: float
    n: int
    content: float
    confidence: float = CONFIDENCE
    checks: int = 1
    through: float = THROUGH
    limit: str = ""
    part: str = ""
    guide: str = GuideShape.NOT_SHOWN

    def __post_init__(self):
        refuse_unreal(self, "figure", "low", "high")
        refuse_unreal(self, "content", "confidence", "through", least=0)

    @property
    def is_promised(self) -> bool:
        return self.guide == GuideShape.NORMAL and self.n >= FEWEST_TO_SHOW

    @property
    def content_shown(self) -> float:
        """Share of good builds between the lowest and the highest reading, with CONFIDENCE and of any distribution."""
        return content_of_range(self.n, CONFIDENCE)

    @property
    def digits(self) -> int:
        """Significant digits that keep low, figure and high apart when they are written down: to a tenth of the band's
        width."""
        largest = max(abs(self.low), abs(self.high))
        return min(9, max(3, math.floor(math.log10(largest)) + 1 - math.floor(math.log10((self.high - self.low) / 10))))


@dataclass(frozen=True)
class Withheld:
    """Why nothing is proposed. As good as no proposal: it is false where truth is asked for."""

    reason: str
    limit: str = ""
    part: str = ""
    over: int = 0
    n: int = 0

    def __bool__(self) -> bool:
        return False


def compute_scatter(values, u: float = 0.0) -> Scatter | None:
    """Of builds' values at the guide's mains (SI); None for fewer than two. Raises ChecksError."""
    data = np.asarray(list(values), dtype=float)
    if len(data) and not np.isfinite(data).all():
        raise CallerError("Over-range readings are left out of a proposal.", argument="values")
    if u < 0 or not math.isfinite(u):
        raise CallerError("An uncertainty is zero or more.", argument="u")
    plausible = _without_strays(data, u)
    return (
        Scatter(len(plausible), float(plausible.mean()), float(plausible.var(ddof=1)), u, assess_shape(plausible))
        if len(plausible) > 1
        else None
    )


def propose(
    scatter: Scatter | None,
    limits: Limits = Limits(),
    *,
    checks: int = 1,
    shared: SharedScatter | None = None,
    guide: str = GuideShape.NOT_SHOWN,
) -> Proposal | Withheld | None:
    """From the builds' own scatter their centre and the band that such a guide needs (`content_for`).

    `shared`: what the guide's other checks say (shared_scatter.py); `guide`: what all its checks say of how builds
    scatter. The band ends short of a stop limit, and at what a
    part is rated for. None for fewer than five builds. Withheld where the builds' own centre lies at or beyond such a
    limit, which is no figure to put into a guide, where there is no width to give, where the builds plainly do not
    scatter normally, and where the band would reach across zero: another polarity is no tolerance.
    """
    if scatter is None or scatter.n < FEWEST_TO_PROPOSE:
        return None
    if not is_check_normal(scatter.shape):
        return Withheld(Reason.NOT_NORMAL, n=scatter.n)
    content, centre = content_for(checks), scatter.centre
    half, confidence = half_width(scatter, content, shared)
    if half <= 1e-12 * abs(centre) or not half:
        return Withheld(Reason.ALIKE)
    low, high, limit = centre - half, centre + half, ("", "")
    for edge, side, name, part in _list_edges(half, limits):
        if (edge - centre) * side <= max(scatter.u, half / 10):
            return Withheld(Reason.BEYOND, name, part)
        if side > 0 and high > edge:
            high, limit = edge, (name, part)
        elif side < 0 and low < edge:
            low, limit = edge, (name, part)
    if low < 0 < high and not limits.across_zero:
        return Withheld(Reason.ACROSS_ZERO)
    return Proposal(
        _clamp(centre, low, high), low, high, scatter.n, content, confidence, checks, THROUGH, *limit, guide
    )


@finite_arguments
def half_width(scatter: Scatter, content: float, shared: SharedScatter | None = None) -> tuple[float, float]:
    """(half the width of the interval, the confidence that it holds `content`): the builds' own variance and that of
    the guide's other checks, each by its degrees of freedom. Where few builds leave much open, it is so wide that it
    holds `content` on average as well, and the confidence is more than CONFIDENCE."""
    degrees, var = scatter.n - 1.0, scatter.floor
    if shared is not None and shared.degrees:
        var = (degrees * var + shared.degrees * shared.var) / (degrees + shared.degrees)
        degrees += shared.degrees
    k, confidence = _factor_for_guide(scatter.n, round(degrees, 1), content)
    return k * math.sqrt(max(var, scatter.u**2)), confidence


@lru_cache(maxsize=1024)
def _factor_for_guide(n: int, degrees: float, content: float) -> tuple[float, float]:
    k, on_average = factor(n, degrees, content), prediction_factor(n, degrees, content)
    return (k, CONFIDENCE) if k >= on_average else (on_average, compute_confidence(on_average, n, degrees, content))


def _list_edges(half, limits: Limits) -> list[tuple[float, int, str, str]]:
    """[(where a band must end, 1 for the upper end and -1 for the lower, what limits it, the part)]."""
    edges: list[tuple[float, int, str, str]] = []
    if limits.stop_above is not None:
        edges.append((limits.stop_above - SHORT * max(abs(limits.stop_above), half), 1, Limit.STOP_ABOVE, ""))
    if limits.stop_below is not None:
        edges.append((limits.stop_below + SHORT * max(abs(limits.stop_below), half), -1, Limit.STOP_BELOW, ""))
    if limits.rated:
        edges += [(side * limits.rated[0], side, Limit.RATING, limits.rated[1]) for side in (1, -1)]
    return edges


def _clamp(centre: float, low: float, high: float) -> float:
    """The centre to the digits that the band makes sensible, and inside it."""
    figure = rounded(centre, min(high - centre, centre - low))
    return figure if low < figure < high else centre


def _without_strays(data, u: float):
    if len(data) < 4:
        return data
    middle = np.median(data)
    spread = max(np.median(np.abs(data - middle)) * MAD_TO_SD, u)
    if not spread:  # more than half read the very same: what differs is a stray
        return data[data == middle]
    return data[np.abs(data - middle) <= OUTLIER * (1 + FEW / len(data)) * spread]


@finite_arguments
def rounded(value: float, half: float) -> float:
    """A figure to the digits its band makes sensible: a tenth of the half-width, in ones, twos and fives."""
    if not value or not half:
        return value
    power = 10.0 ** math.floor(math.log10(half / 10))
    step = next(s * power for s in (5, 2, 1) if s * power <= half / 10 * 1.0000001)
    return float(f"{round(value / step) * step:.12g}")
