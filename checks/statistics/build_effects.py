"""What a build reads too high or too low by the same ratio on all its checks of a quantity: a meter that is off, mains
higher than was noted, a rail that all its points hang on. Each check by itself would count that as a miss of its own.

A reading's deviation is the check's middle, the build's ratio times the figure (in half-bands), and scatter. Middles
and ratios are fitted together, each by what the others leave. Readings and middles far out count little (Student's t by
reweighting: Lange, Little and Taylor, J. Am. Stat. Assoc. 84:881, 1989), so that faults make no ratio. Ratios are drawn
towards 0 by how widely those of the guide's builds lie apart (empirical Bayes). A ratio larger than a meter and a
socket can explain is none: such a build has a fault, and stays with all that it reads.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from checks.statistics.evidence import Evidence

MOST = 0.06  # a meter 3 % off that also noted the mains; from there it is no longer these but a fault
STEP = 0.002  # to which ratios are rounded, so that one reading more seldom changes what others mean
FEWEST_BUILDS, FEWEST_CHECKS = 3, 8  # that are compared, and checks of a quantity that a build has read
MOST_BUILDS = 60  # beyond which one build's ratio changes no finding, and only widens the scatter of all
MOST_REACH = 100.0  # figure in half-bands: of tighter bands, no more is believed
DEGREES = 3.0
USUAL_RATIO, RATIO_WORTH = 0.012, 4.0  # of good hand-held meters, and how many builds that counts for
COVERAGE = 2.0  # standard deviations of a meter that its error stays within, about 95 times of 100 (GUM, 6.3.3)
MIDDLE_SD, LEAST_SCATTER = 0.15, 0.05  # half-bands
ROUNDS = 25


def without_build_effects(evidence: Sequence[Evidence]) -> list[Evidence]:
    """The same, each with the effects of the builds that read it. `evidence`: of all checks of a guide."""
    effects = build_effects(evidence)
    return [
        replace(e, effects=tuple((b, effects[b, e.quantity]) for b in e.builds if (b, e.quantity) in effects))
        if e.reach
        else e
        for e in evidence
    ]


def build_effects(evidence: Sequence[Evidence]) -> dict[tuple[int, str], float]:
    """(build, quantity) -> by which ratio it reads the guide's checks too high; left out where that is not known."""
    usable = [e for e in evidence if e.reach and e.quantity and e.deviations]
    if any(len(e.builds) > MOST_BUILDS for e in usable) or len({b for e in usable for b in e.builds}) > MOST_BUILDS:
        return {}
    effects = {}
    for quantity in sorted({e.quantity for e in usable}):
        ratios = _of_quantity([e for e in usable if e.quantity == quantity])
        effects.update({(build, quantity): ratio for build, ratio in ratios.items()})
    return effects


def _of_quantity(checks: list[Evidence]) -> dict[int, float]:
    builds, build = np.unique([b for e in checks for b in e.builds], return_inverse=True)
    if len(builds) < FEWEST_BUILDS or len(checks) < FEWEST_CHECKS:
        return {}
    d = np.array([x for e in checks for x in e.deviations])
    check = np.repeat(np.arange(len(checks)), [len(e.deviations) for e in checks])
    reach = np.clip([e.reach for e in checks], -MOST_REACH, MOST_REACH)[check]
    ratios, counts = _fit(d, reach, check, build), np.bincount(build)
    return {
        int(pk): round(STEP * round(raw / STEP), 6)
        for pk, raw, n in zip(builds, ratios, counts, strict=True)
        if n >= FEWEST_CHECKS and abs(raw) <= MOST
    }


def _fit(d, reach, check, build) -> np.ndarray:
    """Each build's ratio."""
    ratio, scatter, wide = np.zeros(build.max() + 1), 0.3, USUAL_RATIO
    middle = _medians(d, check)
    for _ in range(ROUNDS):
        left = d - middle[check] - ratio[build] * reach
        weight = (DEGREES + 1) / (DEGREES + (left / scatter) ** 2) / scatter**2
        known = np.bincount(build, weight * reach**2) + wide**-2
        ratio = np.bincount(build, weight * reach * (d - middle[check])) / known
        apart = _plausible((ratio - np.median(ratio)) ** 2 + 1 / known)
        wide = np.sqrt((RATIO_WORTH * USUAL_RATIO**2 + apart) / (RATIO_WORTH + len(ratio)))
        prior = (DEGREES + 1) / (DEGREES + (middle / MIDDLE_SD) ** 2) / MIDDLE_SD**2
        middle = np.bincount(check, weight * (d - ratio[build] * reach)) / (np.bincount(check, weight) + prior)
        free = max(0.2, 1 - (check.max() + build.max() + 2) / len(d))
        scatter = max(LEAST_SCATTER, float(np.sqrt((weight * scatter**2 * left**2).mean() / free)))
    return ratio - _common(ratio, wide)


def _common(ratio, wide: float) -> float:
    """What all builds share, beyond what one meter may be off by, which may be lent or of one make: that is the guide's
    to answer for."""
    middle = float(np.median(ratio))
    return float(np.sign(middle)) * max(0.0, abs(middle) - COVERAGE * wide)


def _plausible(squares) -> float:
    return float(np.minimum(squares, MOST**2).sum())


def _medians(d, check) -> np.ndarray:
    return np.array([np.median(d[check == c]) for c in range(check.max() + 1)])
