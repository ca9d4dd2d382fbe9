"""Do readings correlate with the serial number, the builder, the meter, the mains, a part's batch or the make of valve?

Several are examined for every check, and every check of a guide: a small p here and there is to be expected of builds
that have nothing wrong. What is reported is therefore controlled as a whole (`control_false_discoveries`).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from scipy import stats

from checks.errors import CallerError
from checks.finite import finite_arguments, finite_figures

LEVEL = 0.05  # of all correlations reported, the share that chance alone may have made
FEWEST_FOR_TREND = 5


class CircumstanceKind(StrEnum):
    BUILDER = "builder"
    METER = "meter"
    MAINS = "mains"
    SERIAL = "serial"
    BATCH = "batch"
    MAKE = "make"


@dataclass(frozen=True)
class Circumstance:
    """What builds differ in; `refs`: the parts or sockets it is about."""

    kind: CircumstanceKind
    refs: tuple[str, ...] = ()

    @property
    def code(self) -> str:
        """As a label of evidence is named: "batch:R5,R6"."""
        return f"{self.kind.value}:{','.join(self.refs)}"

    @classmethod
    def from_code(cls, code: str) -> "Circumstance":
        kind, _, refs = code.partition(":")
        return cls(CircumstanceKind(kind), tuple(refs.split(",")) if refs else ())


@finite_figures
@dataclass(frozen=True)
class Trend:
    """Kendall's tau of the readings in order, with its p. `slope`: Theil and Sen's, per build, which looks at every
    pair of readings; None for a p above LEVEL, which is never reported."""

    tau: float
    p: float
    slope: float | None


@finite_arguments
def trend(values: Sequence[float]) -> Trend | None:
    """Of values in the order of their serial numbers; None for fewer than five or all alike."""
    data = np.asarray(list(values), dtype=float)
    if len(data) < FEWEST_FOR_TREND or np.ptp(data) == 0:
        return None
    kendall = stats.kendalltau(np.arange(len(data)), data)
    p = float(kendall.pvalue)
    return Trend(float(kendall.statistic), p, float(stats.theilslopes(data)[0]) if p <= LEVEL else None)


@finite_figures
@dataclass(frozen=True)
class Group:
    name: str
    n: int
    median: float


@dataclass(frozen=True)
class Dependence:
    """One-way analysis of variance over groups of two and more: F and its p, the share of the variance it explains,
    every group; and `rank_p`, Kruskal and Wallis' p of the same groups, which a single wild reading can't make
    small."""

    f: float
    p: float
    rank_p: float
    explained: float
    groups: tuple[Group, ...]

    @property
    def large(self) -> tuple[Group, ...]:
        """The groups that were compared."""
        return tuple(g for g in self.groups if g.n >= 2)

    @property
    def lowest(self) -> Group:
        return min(self.large, key=lambda g: g.median)

    @property
    def highest(self) -> Group:
        return max(self.large, key=lambda g: g.median)

    @property
    def ranks_agree(self) -> bool:
        return self.rank_p <= LEVEL


@finite_arguments
def dependence(values: Sequence[float], groups: Sequence[str]) -> Dependence | None:
    """Of values on their group names; empty names are left out. None unless two groups have two values or more.

    Variance and not ranks decides: of a dozen builds the ranks' smallest p is 0.004, which drowns among the
    hundreds of dependences that a guide's checks are looked through for. Raises ChecksError for unequal lengths.
    """
    data, named = np.asarray(list(values), dtype=float), [str(g) if g else "" for g in groups]
    if len(data) != len(named):
        raise CallerError("Every value needs its group.", argument="groups")
    names, where = np.unique(named, return_inverse=True)
    sizes = np.bincount(where, minlength=len(names))
    large = (sizes >= 2) & (names != "")
    inside = large[where]
    if large.sum() < 2 or np.ptp(data[inside]) == 0:
        return None
    new = (np.cumsum(large) - 1)[where[inside]]  # the compared groups, numbered from 0
    compared = data[inside], new, sizes[large]
    (f, explained), k, n = _variances(*compared), int(large.sum()), int(inside.sum())
    return Dependence(
        f,
        float(stats.f.sf(f, k - 1, n - k)),
        float(stats.chi2.sf(_h(*compared), k - 1)),
        explained,
        tuple(
            Group(str(name), int(size), float(np.median(data[where == i])))
            for i, (name, size) in enumerate(zip(names, sizes, strict=True))
            if name
        ),
    )


def _variances(values, where, sizes) -> tuple[float, float]:
    """F and the share explained. Within-group scatter of nothing at all (readings rounded alike) gives an infinite
    F."""
    n, k, off = len(values), len(sizes), values - values.mean()
    between = float((np.bincount(where, weights=off) ** 2 / sizes).sum())
    whole = float((off**2).sum())
    within = max(0.0, whole - between)
    if within <= 1e-12 * whole:
        return float("inf"), 1.0
    return between / (k - 1) / (within / (n - k)), between / whole


def _h(values, where, sizes) -> float:
    """Kruskal and Wallis' H (J. Am. Stat. Assoc. 47:583, 1952), corrected for ties."""
    n, ranks = len(values), stats.rankdata(values)
    alike = np.unique(values, return_counts=True)[1].astype(float)
    ties = 1 - (alike**3 - alike).sum() / (n**3 - n)
    sums = np.bincount(where, weights=ranks)
    return float((12 / (n * (n + 1)) * (sums**2 / sizes).sum() - 3 * (n + 1)) / ties)


@finite_arguments
def control_false_discoveries(ps: Sequence[float], level: float = LEVEL) -> list[tuple[float, bool]]:
    """[(q, whether it is reported)] of the p of everything that was examined: Benjamini and Hochberg's false
    discovery rate (J. R. Stat. Soc. B 57:289, 1995). Raises ChecksError for a p outside 0 to 1."""
    if any(not 0 <= p <= 1 for p in ps):
        raise CallerError("A p lies between 0 and 1.", argument="ps")
    if not len(ps):
        return []
    return [(float(q), bool(q <= level)) for q in stats.false_discovery_control(ps)]
