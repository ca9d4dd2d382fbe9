"""What a guide's checks say of each other's variance: the builds of a guide scatter more or less as its circuit or its
bands have it, all of them by about the same ratio.

Moderated variances (G. K. Smyth, Stat. Appl. Genet. Mol. Biol. 3:3, 2004): each check's variance in units of what the
circuit, or else its band, says is drawn from a scaled inverse chi-squared distribution, whose scale and degrees of
freedom are fitted to the logarithms of all checks' variances. A circuit that is wrong by the same ratio everywhere
changes the scale and nothing else; one that is wrong by chance gives few degrees of freedom, and the builds' own spread
has its way.
"""

import math
from dataclasses import dataclass
from statistics import fmean, variance

from scipy.optimize import brentq
from scipy.special import polygamma, psi

from checks.finite import finite_figures
from checks.statistics.tolerance import Scatter, SharedScatter

FEWEST_CHECKS = 10  # below which nothing is shared: the degrees of freedom would be a guess
CAUTION = 0.8  # of the degrees of freedom fitted, which are worth less for being fitted themselves
MOST_DEGREES = 60.0


@finite_figures
@dataclass(frozen=True)
class Ratio:
    """Variance in units of what was expected: its middle, and the degrees of freedom that is worth."""

    scale: float
    degrees: float

    def at(self, unit: float) -> SharedScatter:
        """For a check with so large a spread expected (SI)."""
        return SharedScatter(self.scale * unit**2, self.degrees)


def learn_ratio(rows: list[tuple[Scatter, float]]) -> Ratio | None:
    """From (scatter, expected spread) of a guide's checks; None for too few of them."""
    usable = [(s.n - 1, s.floor / unit**2) for s, unit in rows if s.n >= 3 and unit > 0 and s.floor > 0]
    if len(usable) < FEWEST_CHECKS:
        return None
    logs = [math.log(var) - psi(d / 2) + math.log(d / 2) for d, var in usable]
    excess = variance(logs) - fmean(float(polygamma(1, d / 2)) for d, _ in usable)
    degrees = MOST_DEGREES / CAUTION if excess <= 0 else 2 * _inverse_trigamma(excess)
    scale = math.exp(fmean(logs) + psi(degrees / 2) - math.log(degrees / 2))
    return Ratio(float(scale), min(MOST_DEGREES, CAUTION * degrees))


def _inverse_trigamma(value: float) -> float:
    return brentq(lambda x: float(polygamma(1, x)) - value, 1e-3, 1e6)
