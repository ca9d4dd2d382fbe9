"""Do the guide, its circuit and its builds agree about a check? Where two of three sources that know nothing of each
other agree and one does not, that one is the first to be looked at."""

from dataclasses import dataclass
from enum import StrEnum

from checks.band import Band
from checks.finite import finite_figures
from checks.statistics.summary import Summary

NEAR = 0.5  # half-bands within which two figures agree
FEWEST = 3  # builds


class Verdict(StrEnum):
    AGREE = "agree"
    GUIDE_APART = "guide apart"
    CIRCUIT_APART = "circuit apart"
    BUILDS_APART = "builds apart"
    NONE_AGREE = "none agree"


@finite_figures
@dataclass(frozen=True)
class Agreement:
    """The three figures (SI; the circuit's and the builds' may be missing) and which of them agree."""

    verdict: Verdict
    guide: float
    circuit: float | None
    builds: float | None
    n: int  # builds


def compare_sources(
    band: Band | None, circuit: dict | None, builds: Summary, in_groups: bool = False
) -> Agreement | None:
    """`circuit`: {"value", "low", "high"}, its figure with 95 % of what its parts allow. None where the guide gives no
    figure with a band about it, and where there is nothing to compare it with. Builds that fall `in_groups` have no one
    middle: the median lies between the groups, or in the larger, and speaks for neither guide nor circuit."""
    if band is None or band.expected is None or not band.half_width:
        return None
    near = NEAR * band.half_width
    middle = builds.median if builds.n - builds.over >= FEWEST and not in_groups else None
    value = circuit["value"] if circuit else None
    if middle is None and value is None:
        return None
    with_builds = middle is None or abs(middle - band.expected) <= near
    with_circuit = value is None or abs(value - band.expected) <= near
    both = circuit is None or middle is None or _is_inside(middle, circuit, near)
    return Agreement(_verdict(with_builds, with_circuit, both), band.expected, value, middle, builds.n)


def _is_inside(middle: float, circuit: dict, near: float) -> bool:
    low, high = circuit["low"], circuit["high"]
    return min(low, circuit["value"] - near) <= middle <= max(high, circuit["value"] + near)


def _verdict(builds_with_guide: bool, circuit_with_guide: bool, builds_with_circuit: bool) -> Verdict:
    if builds_with_guide and circuit_with_guide:
        return Verdict.AGREE
    if builds_with_guide:
        return Verdict.CIRCUIT_APART
    if circuit_with_guide:
        return Verdict.BUILDS_APART
    return Verdict.GUIDE_APART if builds_with_circuit else Verdict.NONE_AGREE
