"""How widely the good builds of a guide scatter: lognormal over its checks, with a middle and a width that the checks
teach each other.

Both are weighed over a grid in full, so that a few checks leave much open and a hundred leave little. A family with two
numbers, and not a share for each spread, since the widest spreads would otherwise be learnt from the very checks whose
band is too tight.
"""

import numpy as np

from checks.statistics.explanations import SPREADS
from checks.statistics.logs import log_sum

MIDDLES, WIDTHS = np.geomspace(0.04, 0.6, 16), np.array((0.12, 0.2, 0.3, 0.45, 0.65, 0.95))
USUAL_MIDDLE, USUAL_MIDDLE_LOG_SD = 0.25, 0.6
WIDTH_WEIGHTS = np.array((0.7, 1.0, 1.0, 0.8, 0.5, 0.25))


def _families() -> tuple[np.ndarray, np.ndarray]:
    """Log shares of the spreads (families, spreads) of each middle and width, and the log prior of each."""
    middle, width = (x.ravel() for x in np.meshgrid(np.log(MIDDLES), WIDTHS, indexing="ij"))
    logs = -0.5 * ((np.log(SPREADS) - middle[:, None]) / width[:, None]) ** 2
    prior = -0.5 * ((middle - np.log(USUAL_MIDDLE)) / USUAL_MIDDLE_LOG_SD) ** 2
    prior += np.log(np.tile(WIDTH_WEIGHTS, len(MIDDLES)))
    return logs - log_sum(logs, axis=1)[:, None], prior - log_sum(prior)


FAMILIES, PRIOR = _families()


def learn_spreads(by_spread: np.ndarray, whatever: np.ndarray) -> np.ndarray:
    """Log shares of the spreads for every check (checks, spreads), as the other checks have them. `by_spread`: a
    check's log likelihood for each spread; `whatever`: that of what says nothing of the spread."""
    top = np.maximum(by_spread.max(axis=1), whatever)[:, None]
    own = np.log(np.exp(by_spread - top) @ np.exp(FAMILIES).T + np.exp(whatever[:, None] - top))
    others = PRIOR + own.sum(axis=0) - own
    weights = np.exp(others - others.max(axis=1, keepdims=True))
    return np.log(weights @ np.exp(FAMILIES) / weights.sum(axis=1, keepdims=True))
