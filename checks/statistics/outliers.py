"""Values that do not belong: Grubbs' test for one, the generalised ESD test for several (Rosner 1983)."""

from dataclasses import dataclass

import numpy as np
from scipy import stats

from checks.errors import CallerError
from checks.finite import finite_arguments


def grubbs_statistic(values) -> float:
    """Largest distance from the mean, in standard deviations."""
    data = _check_values(values)
    return float(np.abs(data - data.mean()).max() / data.std(ddof=1))


@finite_arguments
def grubbs_critical(n: int, alpha: float = 0.05, *, two_sided: bool = True) -> float:
    """What the statistic of `n` normal values exceeds with probability `alpha` (NIST/SEMATECH handbook 1.3.5.17.1)."""
    if n < 3:
        raise CallerError("Grubbs' test needs three values or more.", argument="n")
    t = stats.t.ppf(1 - alpha / ((2 if two_sided else 1) * n), n - 2)
    return float((n - 1) / np.sqrt(n) * np.sqrt(t**2 / (n - 2 + t**2)))


@dataclass(frozen=True)
class Outliers:
    """Positions of the outliers, most extreme first; the statistics R and critical values λ that were compared."""

    positions: tuple[int, ...]
    statistics: tuple[float, ...]
    critical: tuple[float, ...]


@finite_arguments
def esd(values, most: int | None = None, alpha: float = 0.05) -> Outliers:
    """Generalised extreme studentised deviate test for up to `most` outliers (a fifth of the values unless given).

    Raises ChecksError for fewer than five values.
    """
    data = _check_values(values)
    n = len(data)
    if n < 5:
        raise CallerError("The ESD test needs five values or more.", argument="values")
    most = max(1, n // 5) if most is None else most
    remaining, statistics, critical, order = np.arange(n), [], [], []
    for _ in range(most):
        now = data[remaining]
        if now.std(ddof=1) == 0 or len(now) < 3:
            break
        worst = int(np.abs(now - now.mean()).argmax())
        statistics.append(grubbs_statistic(now))
        order.append(int(remaining[worst]))
        critical.append(grubbs_critical(len(now), alpha))
        remaining = np.delete(remaining, worst)
    count = max((i for i, (r, limit) in enumerate(zip(statistics, critical, strict=True), 1) if r > limit), default=0)
    return Outliers(tuple(order[:count]), tuple(statistics), tuple(critical))


def _check_values(values):
    data = np.asarray(list(values), dtype=float)
    if len(data) < 3 or not np.isfinite(data).all():
        raise CallerError("An outlier test needs three finite values or more.", argument="values")
    return data
