"""Does a reading go with the serial number, the builder, the meter, the mains, the batch or the make of valve?"""
from dataclasses import dataclass

import numpy as np
from scipy import stats

from checks.errors import ChecksError

LEAST = 0.01  # p below which a dependence is worth saying: several are looked at for every check


@dataclass(frozen=True)
class Trend:
    """Kendall's tau of the readings in order, with its p and the Theil-Sen slope per build."""

    tau: float
    p: float
    slope: float

    @property
    def worth_saying(self) -> bool:
        return self.p < LEAST


def trend(values) -> Trend | None:
    """Of values in the order of their serial numbers; None for fewer than five or all alike."""
    data = np.asarray(list(values), dtype=float)
    if len(data) < 5 or np.ptp(data) == 0:
        return None
    found = stats.kendalltau(np.arange(len(data)), data)
    return Trend(float(found.statistic), float(found.pvalue), float(stats.theilslopes(data)[0]))


@dataclass(frozen=True)
class Dependence:
    """Kruskal and Wallis' test over groups, with the share of the ranks' variance it explains, and the groups' medians."""

    p: float
    explained: float
    medians: dict[str, float]

    @property
    def worth_saying(self) -> bool:
        return self.p < LEAST


def dependence(values, groups) -> Dependence | None:
    """Of values on their group names; None unless two groups have two values or more. Raises ChecksError for unequal lengths."""
    values, groups = list(values), list(groups)
    if len(values) != len(groups):
        raise ChecksError("Every value needs its group.", argument="groups")
    sorted_: dict[str, list[float]] = {}
    for value, group in zip(values, groups, strict=True):
        if group:
            sorted_.setdefault(str(group), []).append(value)
    large = [v for v in sorted_.values() if len(v) >= 2]
    if len(large) < 2 or np.ptp(np.concatenate(large)) == 0:
        return None
    h, p = stats.kruskal(*large)
    n = sum(map(len, large))
    return Dependence(float(p), float(max(0.0, (h - len(large) + 1) / (n - len(large)))) if n > len(large) else 0.0,
                      {name: float(np.median(v)) for name, v in sorted_.items()})
