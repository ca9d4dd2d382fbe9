"""What the readings of many builds on one check come to."""

from dataclasses import dataclass

import numpy as np
from scipy import stats

from checks.errors import CallerError
from checks.finite import finite_figures

MAD_TO_SD = 1.482602218505602  # 1/Φ⁻¹(3/4): makes the MAD estimate a normal standard deviation


@finite_figures
@dataclass(frozen=True)
class Summary:
    """n counts all readings, `over` those over range; the rest is of the n - over values. SI units."""

    n: int
    over: int
    median: float | None
    spread: float | None  # scaled median absolute deviation
    mean: float | None
    sd: float | None
    mean_low: float | None  # 95 % interval of the mean (Student)
    mean_high: float | None


def summarise(values, over: int = 0) -> Summary:
    """Summarise readings (a sequence of floats). Raises ChecksError for values that are not finite."""
    data = np.asarray(list(values), dtype=float)
    if data.size and not np.isfinite(data).all():
        raise CallerError("Over-range readings are counted, not averaged.", argument="values")
    n = data.size + over
    if not data.size:
        return Summary(n, over, None, None, None, None, None, None)
    median = float(np.median(data))
    spread = float(np.median(np.abs(data - median))) * MAD_TO_SD
    mean = float(np.mean(data))
    if data.size == 1:
        return Summary(n, over, median, spread, mean, None, None, None)
    sd = float(np.std(data, ddof=1))
    half = float(stats.t.ppf(0.975, data.size - 1)) * sd / data.size**0.5
    return Summary(n, over, median, spread, mean, sd, mean - half, mean + half)
