"""How likely readings are under every fault, when each may be a slip, and how well each fault fits by itself.

Readings under a fault are jointly normal on the scale of reading_scale.py, with the scatter of good parts, the meter's
uncertainty and the line's. One reading may be a slip: the likelihood is a mixture of "none is" and "this one is" for
each reading, so that a single slip cannot decide. A fault that comes in all sizes is a mixture over its sizes, each
spread along the line to its neighbours.
"""

from dataclasses import dataclass

import numpy as np
from scipy.linalg.lapack import dpotrf, dtrtri
from scipy.special import gammaincc, logsumexp

from checks.diagnosis.dictionary import Prepared
from checks.diagnosis.reading_scale import FLOOR, slope
from checks.diagnosis.solving import METER_OHMS

RANGE = 14.0  # width of the scale over which a slip or an unknown fault may put a reading
LOG_TWO_PI = float(np.log(2 * np.pi))


@dataclass(frozen=True)
class Fit:
    """Of each hypothesis (F + 1): log density of the readings, probability of each being a slip (F + 1, n), and how
    likely a build with that fault is to read at least as far off (F + 1)."""

    log: np.ndarray
    slipped: np.ndarray
    tail: np.ndarray


@dataclass(frozen=True)
class Evidence:
    """Readings at columns `at` of `prepared`: `z` on the scale, `var` of measuring them, which are `over` range, and
    the chance of each being a slip."""

    at: np.ndarray
    z: np.ndarray
    var: np.ndarray
    over: np.ndarray
    chances: np.ndarray
    line_u: float
    meter_ohms: float = METER_OHMS


def fit_all(prepared: Prepared, evidence: Evidence) -> Fit:
    """The fit of the healthy kit and of every fault. Where a circuit has no solution, `log` is NaN."""
    mean = prepared.mean[:, evidence.at] + _loading(prepared, evidence)
    own = np.setdiff1d(np.flatnonzero(~np.isnan(mean).any(axis=1)), prepared.size_row)
    roots = np.full((len(mean), len(evidence.at), len(evidence.at)), np.nan)
    for row, cov in zip(own, _covariances(prepared, evidence, own, mean[own]), strict=True):
        roots[row] = _root(cov)
    log, tail = np.full(len(mean), np.nan), np.zeros(len(mean))
    slipped = np.zeros((len(mean), len(evidence.z)))
    residual = _residual(evidence, mean[own])
    log[own], slipped[own], tail[own] = _mixtures(residual, roots[own], evidence.chances)
    _over_sizes(prepared, evidence, roots[0], Fit(log, slipped, tail))
    return Fit(log, slipped, tail)


def covariance(prepared: Prepared, evidence: Evidence, row: int, mean) -> np.ndarray:
    """Of the readings under one hypothesis, with meter and line."""
    return _covariances(prepared, evidence, [row], mean[None, :])[0]


def _covariances(prepared: Prepared, evidence: Evidence, rows, mean):
    at, units = evidence.at, prepared.units[evidence.at]
    cov = prepared.scatter[np.asarray(rows)[:, None, None], at[:, None], at[None, :]]
    diagonal = np.arange(len(at))
    cov[:, diagonal, diagonal] += evidence.var + FLOOR
    values = np.sinh(mean) * units
    along = evidence.line_u * prepared.exponents[at] * values * slope(values, units)
    return cov + along[:, :, None] * along[:, None, :]


def _root(cov):
    """L⁻¹ of a covariance L Lᵀ. By LAPACK itself: half the time of numpy's inverse and determinant."""
    return dtrtri(dpotrf(cov, lower=1, clean=1)[0], lower=1)[0]


def _loading(prepared: Prepared, evidence: Evidence):
    """What another meter than METER_OHMS changes, on the scale: both readings corrected for a healthy kit's source."""
    if evidence.meter_ohms == METER_OHMS:
        return 0.0
    source = prepared.source[:, evidence.at]
    share = (1 + source / METER_OHMS) / (1 + source / evidence.meter_ohms)
    mean = prepared.mean[:, evidence.at]
    return np.arcsinh(np.sinh(mean) * share / share[0]) - mean


def _residual(evidence: Evidence, mean):
    residual = evidence.z - mean
    residual[:, evidence.over] = np.maximum(residual[:, evidence.over], 0.0)  # censored: anything beyond is as good
    return residual


def mixtures(residual, cov, chances) -> float:
    """Log density of one hypothesis: residual (1, n), cov (1, n, n)."""
    return float(_mixtures(residual, _root(cov[0])[None], chances)[0][0])


def _mixtures(residual, roots, chances):
    """(log densities, slip probabilities, tails) of many hypotheses, each with its own root."""
    whitened = np.einsum("fij,fj->fi", roots, residual)
    pulled = np.einsum("fij,fi->fj", roots, whitened)
    own = np.einsum("fij,fij->fj", roots, roots)
    log_det = -2 * np.log(np.einsum("fii->fi", roots)).sum(axis=1)
    return _slips((whitened**2).sum(axis=1), log_det, pulled, own, chances)


def _over_sizes(prepared: Prepared, evidence: Evidence, root, fit: Fit) -> None:
    """Fill in the fits of faults that come in all sizes: good parts scatter as in a healthy kit, whose root is given,
    and a size's readings spread along its span, which is a correction of rank one to the covariance."""
    residual = _residual(evidence, prepared.size_mean[:, evidence.at])
    known = np.flatnonzero(~np.isnan(residual).any(axis=1))
    log, tail = np.full(len(residual), -np.inf), np.zeros(len(residual))
    slipped = np.zeros_like(residual)
    if len(known):
        spans = prepared.size_span[known][:, evidence.at]
        log[known], slipped[known], tail[known] = _along_spans(residual[known], spans, root, evidence.chances)
    _gathered(prepared, log, slipped, tail, fit)


def _gathered(prepared: Prepared, log, slipped, tail, fit: Fit) -> None:
    """From each size (K) to its fault: every size is as likely as the next. Sizes of one fault follow each other."""
    rows, start = np.unique(prepared.size_row, return_index=True)
    if not len(rows):
        return
    at = np.searchsorted(rows, prepared.size_row)
    most = np.maximum.reduceat(log, start)
    safe = np.where(np.isneginf(most), 0.0, most)
    share = np.exp(log - safe[at])
    whole = np.add.reduceat(share, start)
    share = share / np.where(whole > 0, whole, 1.0)[at]
    counts = np.diff([*start, len(log)])
    with np.errstate(divide="ignore"):
        fit.log[rows] = np.where(whole > 0, safe + np.log(whole / counts), np.nan)
    fit.slipped[rows] = np.add.reduceat(share[:, None] * slipped, start, axis=0)
    fit.tail[rows] = np.add.reduceat(share * tail, start)


def _along_spans(residual, spans, root, chances):
    """(log densities, slip probabilities, tails)."""
    whitened, turned = residual @ root.T, spans @ root.T
    pulled, along = whitened @ root, turned @ root
    scale = 1 + (turned**2).sum(axis=1)
    across = (spans * pulled).sum(axis=1)
    own = (root**2).sum(axis=0) - along**2 / scale[:, None]
    log_det = -2 * np.log(np.diag(root)).sum() + np.log(scale)
    distance = (whitened**2).sum(axis=1) - across**2 / scale
    return _slips(distance, log_det, pulled - along * (across / scale)[:, None], own, chances)


def _slips(distance, log_det, pulled, own, chances):
    n = pulled.shape[1]
    joint = -0.5 * (distance + log_det + n * LOG_TWO_PI)
    # log p(z_j | the others): taking it out of the joint density leaves that of the others.
    taken = pulled**2 / own
    without = joint[:, None] + 0.5 * (taken - np.log(own) + LOG_TWO_PI) - np.log(RANGE)
    kept = np.log1p(-chances).sum()
    with np.errstate(divide="ignore"):  # a reading that cannot be one
        slipped = kept - np.log1p(-chances) + np.log(chances)
    terms = np.concatenate((joint[:, None] + kept, without + slipped), axis=1)
    most = terms.max(axis=1)
    whole = most + np.log(np.exp(terms - most[:, None]).sum(axis=1))
    slips = np.exp(terms[:, 1:] - whole[:, None])
    left = np.maximum(distance - (slips * taken).sum(axis=1), 0.0)
    return whole, slips, gammaincc(n / 2, left / 2)


def several(residual, cov, another: float) -> float:
    """Log density of "something else": a healthy kit but for readings that may be anything, the worst taken first;
    each further one with the chance `another`, a single one only as likely as one of so many."""
    n = len(residual)
    precision = np.linalg.inv(cov)
    r, offsets = residual.copy(), []
    joint = -0.5 * (r @ precision @ r + np.linalg.slogdet(cov)[1] + n * LOG_TWO_PI)
    for taken in range(1, n + 1):
        own, pulled = np.diag(precision), precision @ r
        each = -0.5 * (pulled**2 / own - np.log(own) + LOG_TWO_PI)
        worst = int(np.argmin(each))
        joint -= each[worst]
        keep = np.arange(len(r)) != worst
        precision = (
            precision[np.ix_(keep, keep)] - np.outer(precision[keep, worst], precision[worst, keep]) / own[worst]
        )
        r = r[keep]
        alone = -np.log(n) if taken == 1 else 0.0
        offsets.append(joint - taken * np.log(RANGE) + taken * np.log(another) + alone)
    return float(logsumexp(offsets))
