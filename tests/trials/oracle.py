"""The best that can be made of a drawn programme: every kind's probability from the very densities that drew it, with
the programme's spread of good builds and its share of faulty checks known. No judge of findings can be right more often
on average; how far one stays behind it is what is left to gain.
"""

from itertools import combinations
from math import log

import numpy as np

from tests.trials import drawn_checks as dc

NODES, WEIGHTS = np.polynomial.hermite_e.hermegauss(9)
LOG_WEIGHTS = np.log(WEIGHTS / WEIGHTS.sum())
PARTS = 40  # even parts of a size drawn between two ends


def probabilities(programme: dc.DrawnProgramme) -> list[dict[str, float]]:
    """Of each check's kinds."""
    return [_of_check(programme, check) for check in programme.checks]


def _of_check(programme, check) -> dict[str, float]:
    logs = _likelihoods(check.d, _scatter(programme.spread), programme.labels)
    for kind in logs:
        rework = _rework(check, is_unclear=kind == dc.UNCLEAR)
        share = 1 - programme.faulty if kind == dc.FITS else programme.faulty / len(dc.FAULTS)
        logs[kind] += rework + np.log(max(share, 1e-12))
    whole = _log_sum(list(logs.values()))
    return {kind: float(np.exp(log - whole)) for kind, log in logs.items()}


def _scatter(spread: float) -> np.ndarray:
    return np.minimum(dc.FITTING, spread * np.exp(dc.UNEVEN * NODES))


def _rework(check, is_unclear: bool) -> float:
    """Binomial readings that came right and Poisson snags, but for what all kinds share."""
    rate, mean = (dc.CAME_RIGHT_UNCLEAR, dc.SNAGS_UNCLEAR) if is_unclear else (dc.CAME_RIGHT, dc.SNAGS)
    stayed = len(check.d) - check.came_right
    return check.came_right * log(rate) + stayed * log(1 - rate) + check.snags * log(mean) - mean


def _log_sum(logs) -> float:
    logs = np.asarray(logs)
    most = logs.max()
    return float(most + np.log(np.exp(logs - most).sum())) if np.isfinite(most) else -np.inf


def _likelihoods(d, scatter, labels) -> dict[str, float]:
    both = np.concatenate((_even(dc.SHIFT), -_even(dc.SHIFT)))
    fits = _moved(d, np.zeros((1, len(d))), scatter)
    return {
        dc.FITS: fits,
        dc.UNCLEAR: fits,
        dc.OFF: _moved(d, both[:, None] * np.ones(len(d)), scatter),
        dc.TIGHT: _log_sum(_about(d[None], _even(dc.WIDE))) - np.log(PARTS),
        dc.BATCH: _log_sum([_batch(d, groups, scatter) for groups in labels.values()]) - np.log(len(labels)),
        dc.SINGLES: _singles(d, scatter),
    }


def _even(ends) -> np.ndarray:
    """Middles of even parts."""
    return ends[0] + (np.arange(PARTS) + 0.5) / PARTS * (ends[1] - ends[0])


def _moved(d, by, scatter) -> float:
    """Builds that are `by` off, any row of it as likely as another."""
    return _log_sum(_about(d - by, scatter) + LOG_WEIGHTS) - np.log(len(by))


def _about(x, scatter) -> np.ndarray:
    """Log density (rows, scatters) of rows of builds about a middle near 0."""
    n, var = x.shape[1], scatter**2 + dc.METER**2
    whole = var + n * dc.MIDDLE_SD**2
    square = ((x**2).sum(axis=1)[:, None] - dc.MIDDLE_SD**2 * x.sum(axis=1)[:, None] ** 2 / whole) / var
    return -0.5 * (n * np.log(2 * np.pi) + (n - 1) * np.log(var) + np.log(whole) + square)


def _batch(d, groups, scatter) -> float:
    """The group that is apart is that of a build drawn by chance."""
    both = np.concatenate((_even(dc.APART), -_even(dc.APART)))
    names, counts = np.unique(groups, return_counts=True)
    logs = [_moved(d, both[:, None] * (groups == name), scatter) for name in names]
    return _log_sum(logs + np.log(counts / len(d)))


def _singles(d, scatter) -> float:
    """A wrong build is all its own, so that its place is drawn evenly between the two ends, to either side."""
    n, (low, high) = len(d), dc.ASTRAY
    could = np.flatnonzero((np.abs(d) > low - 3 * dc.METER) & (np.abs(d) < high + 3 * dc.METER))
    sizes, rows = (1,) if n < 6 else (1, 2), []
    for size in sizes:
        ways = [np.delete(d, wrong) for wrong in combinations(could, size)]
        if ways:
            density = size * np.log(2 * (high - low)) + np.log(len(list(combinations(range(n), size))))
            rows.append(_log_sum(_about(np.array(ways), scatter) + LOG_WEIGHTS) - density)
    return _log_sum(rows) - np.log(len(sizes)) if rows else -np.inf
