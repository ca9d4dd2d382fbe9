"""How likely readings are under every fault, when each may be a slip, and how well each fault fits by itself.

Readings under a fault are jointly normal on the scale of reading_scale.py, with the scatter of good parts, the meter's
uncertainty and the line's. One reading may be a slip: a mixture of "none is" and "this one is" for each, so that a
single slip cannot decide. A fault of all sizes is a mixture over them, each spread along the line to its neighbours.
"""

from dataclasses import dataclass

import numpy as np
from scipy.linalg.lapack import dpotrf, dtrtri
from scipy.special import gammaincc, logsumexp

from checks.diagnosis.appearances import Appearances, appearances, find_late_rows
from checks.diagnosis.dictionary import Prepared
from checks.diagnosis.model_doubt import add_variances, disturbs, spend_doubt
from checks.diagnosis.reading_scale import FLOOR, RANGE, slope, to_scale
from checks.diagnosis.solving import METER_OHMS
from checks.errors import ChecksError
from checks.finite import finite_arguments, refuse_unreal

FURTHEST, FURTHEST_SIZE = 10.0, 7.0  # standard deviations of the second worst reading; of a size, whose span counts too
IMPOSSIBLE = -1e6  # the log density beyond
AWAY = 2.0  # standard deviations, from which "something else" may take a further reading for its own
DOUBTS = 0.2  # of a reading's own variance, from which the model's doubt of it counts
AS_DOUBTFUL = 0.5  # of another size's doubt, from which a size shares it
LEAKS, OPENED, LEAKING = 3e6, 3.0, 2.0  # Ω, times a good kit's, from which it is open; what it is off at most
FLUX = 5e6  # Ω of old flux and of electrolytics at an ohmmeter's volts, and seldom less (common practice)
UNMEASURED = 0.04  # of a line that nobody measured: the ±10 % of EN 50160 at two and a half standard deviations
THROUGH_DIODE = 0.3  # chance that a lower resistance was read through a diode that the meter's own volts turned on
LOWER = float(to_scale(0.04, 1.0))  # on the scale, by which it is lower
WITHIN = 1.75  # standard deviations of a span: √3, where the share of the next size begins
LOG_TWO_PI = float(np.log(2 * np.pi))


@dataclass(frozen=True)
class Fit:
    """Of each hypothesis (F + 1): log density of the readings, probability of each being a slip (F + 1, n), how likely
    a build with that fault is to read at least as far off (F + 1), and `peak`, the log density at its best size."""

    log: np.ndarray
    slipped: np.ndarray
    tail: np.ndarray
    peak: np.ndarray


@dataclass(frozen=True)
class Evidence:
    """Readings at columns `at` of `prepared`: `z` on the scale, `var` of measuring them, which are `over` range, and
    the chance of each being a slip. `unmeasured` are those at a line that nobody measured, of which `line_u` says
    nothing; `through` those that the meter may have found its way through a diode to, where they are lower than they
    would be without. `slip_logs`: log density of each, given that it is a slip. `meter_ohms` loaded each reading;
    `corrected_for` is what its correction took the meter to have."""

    at: np.ndarray
    z: np.ndarray
    var: np.ndarray
    over: np.ndarray
    chances: np.ndarray
    line_u: float
    meter_ohms: np.ndarray | float = METER_OHMS
    corrected_for: np.ndarray | float = METER_OHMS
    unmeasured: np.ndarray | None = None
    through: np.ndarray | None = None
    slip_logs: np.ndarray | float = -float(np.log(RANGE))

    def __post_init__(self):
        refuse_unreal(self, "line_u", least=0)
        for ohms in (self.meter_ohms, self.corrected_for):
            if not (np.all(np.isfinite(ohms)) and np.all(np.greater(ohms, 0))):
                raise ChecksError("A meter's resistance is above zero.", argument="meter_ohms", code="unreal")

    def chances_under(self, mean):
        """(K, n): the chance of each reading being a slip under hypotheses that read `mean` (K, n). What is lower than
        a hypothesis says may have gone through a diode."""
        if self.through is None:
            return np.broadcast_to(self.chances, mean.shape)
        return np.where(self.through & (self.z < mean - LOWER), THROUGH_DIODE, self.chances)


def fit_all(prepared: Prepared, evidence: Evidence) -> Fit:
    """The fit of the healthy kit and of every fault. Where a circuit has no solution, `log` is NaN."""
    mean = prepared.mean[:, evidence.at]
    mean = mean + _change_by_loading(prepared, evidence, mean, np.arange(len(mean)))
    own = np.flatnonzero(~np.isnan(mean).any(axis=1) & ~np.isin(np.arange(len(mean)), prepared.size_row))
    nothing = np.full(len(mean), np.nan)
    fit = Fit(nothing, np.zeros((len(mean), len(evidence.z))), np.zeros(len(mean)), nothing.copy())
    _fit_rows(prepared, evidence, mean, own, fit)
    _mix_in_late_faults(prepared, evidence, mean, own, fit)
    fit.peak[:] = fit.log
    _over_sizes(prepared, evidence, covariance(prepared, evidence, 0, mean[0]), fit)
    return fit


def _fit_rows(prepared: Prepared, evidence: Evidence, mean, rows, fit: Fit) -> None:
    """Fit every row with its own scatter."""
    fit.log[rows], fit.slipped[rows], fit.tail[rows] = _fits(prepared, evidence, rows, mean[rows], False)


def _mix_in_late_faults(prepared: Prepared, evidence: Evidence, mean, rows, fit: Fit) -> None:
    """Mix in that a fault came only with the first power: what was read before is a good kit's."""
    early = prepared.early[evidence.at]
    rows = rows[find_late_rows(prepared)[rows]] if early.any() else rows[:0]
    if not len(rows):
        return
    log, slipped, tail = _fits(prepared, evidence, rows, np.where(early, mean[0], mean[rows]), True)
    share = np.stack((np.log1p(-prepared.late[rows]) + fit.log[rows], np.log(prepared.late[rows]) + log))
    whole = logsumexp(share, axis=0)
    first = np.exp(share[0] - whole)
    fit.log[rows] = whole
    fit.slipped[rows] = first[:, None] * fit.slipped[rows] + (1 - first)[:, None] * slipped
    fit.tail[rows] = first * fit.tail[rows] + (1 - first) * tail


def _fits(prepared: Prepared, evidence: Evidence, rows, mean, late: bool):
    """(log densities, slip probabilities, tails). Where two readings or more are too far off by themselves, the density
    is as good as none: no correlation brings them nearer."""
    residual = _residual(evidence, mean)
    own = prepared.scatter[rows][:, evidence.at, evidence.at]
    doubt = _shift_by_line(prepared, evidence, mean) ** 2 + _variance_of_leaks(prepared, evidence, mean)
    near = _is_near(np.abs(residual) / np.sqrt(own + evidence.var + FLOOR + doubt))
    log, slipped, tail = np.full(len(mean), IMPOSSIBLE), np.zeros(residual.shape), np.zeros(len(mean))
    if near.any():
        cov = _covariances(prepared, evidence, rows[near], mean[near])
        own, odds = _spend_doubt_of_settled_grids(
            prepared, evidence, rows[near], residual[near], np.einsum("fii->fi", cov)
        )
        cov[:, np.arange(len(evidence.at)), np.arange(len(evidence.at))] -= own
        roots = np.stack([_invert_cholesky(one) for one in (_as_late(prepared, evidence, mean, cov) if late else cov)])
        log[near], slipped[near], tail[near] = _mixtures(
            residual[near], roots, evidence.chances_under(mean[near]), evidence.slip_logs
        )
        log[near] += odds
    return log, slipped, tail


def _spend_doubt_of_settled_grids(prepared: Prepared, evidence: Evidence, rows, residual, variances):
    """Of faults that do not come in sizes: what grids that stay have no need of, and the odds of that."""
    if "_disturbing" not in prepared.__dict__:
        given = (np.einsum("fii->fi", prepared.scatter) >= prepared.drift**2).all(axis=1)  # centring may move the rest
        disturbing = disturbs(prepared.mean, prepared.mean[0], prepared.places) & given
        object.__setattr__(prepared, "_disturbing", disturbing)
    return spend_doubt(prepared.__dict__["_disturbing"][rows], prepared.drift[evidence.at], residual, variances)


def _is_near(away):
    """Is all but one reading within what builds read? `away` (…, n) in standard deviations."""
    return np.partition(away, -2, axis=-1)[..., -2] <= FURTHEST if away.shape[-1] > 1 else away[..., 0] < np.inf


def _as_late(prepared: Prepared, evidence: Evidence, mean, cov):
    """Covariances of which the early readings are a good kit's, and by themselves."""
    early = prepared.early[evidence.at]
    good = covariance(prepared, evidence, 0, mean[0])
    cov[:, early[:, None] != early[None, :]] = 0.0
    cov[:, early[:, None] & early[None, :]] = good[early[:, None] & early[None, :]]
    return cov


def covariance(prepared: Prepared, evidence: Evidence, row: int, mean) -> np.ndarray:
    """Of the readings under one hypothesis, with meter and line."""
    return _covariances(prepared, evidence, [row], mean[None, :])[0]


def _covariances(prepared: Prepared, evidence: Evidence, rows, mean):
    at = evidence.at
    cov = prepared.scatter[np.asarray(rows)[:, None, None], at[:, None], at[None, :]]
    diagonal = np.arange(len(at))
    cov[:, diagonal, diagonal] += evidence.var + FLOOR + _variance_of_leaks(prepared, evidence, mean)
    along = _shift_by_line(prepared, evidence, mean)
    return cov + along[:, :, None] * along[:, None, :]


def _shift_by_line(prepared: Prepared, evidence: Evidence, mean):
    """How far the line's uncertainty moves each reading."""
    units = prepared.units[evidence.at]
    values = np.sinh(mean) * units
    u = np.full(len(evidence.at), evidence.line_u)
    if evidence.unmeasured is not None:
        u[evidence.unmeasured] = max(evidence.line_u, UNMEASURED)
    return u * prepared.exponents[evidence.at] * values * slope(values, units)


def _variance_of_leaks(prepared: Prepared, evidence: Evidence, mean):
    """Variance of what a fault leaves open: old flux, and electrolytics that have stood for long, pass a little."""
    ohms = np.sinh(mean) * prepared.units[evidence.at]
    opened = (ohms > LEAKS) & (ohms > OPENED * np.abs(prepared.nominal[evidence.at]))
    off = np.array([prepared.places[n].power == "off" for n in evidence.at])
    leaking = np.minimum(np.log1p(np.maximum(ohms, 0.0) / FLUX), LEAKING)
    return np.where(opened & off & ~evidence.over, leaking**2, 0.0)


def _invert_cholesky(cov):
    """L⁻¹ of a covariance L Lᵀ. By LAPACK itself: half the time of numpy's inverse and determinant."""
    return dtrtri(dpotrf(cov, lower=1, clean=1)[0], lower=1)[0]


def _change_by_loading(prepared: Prepared, evidence: Evidence, mean, rows):
    """What other meters than METER_OHMS change in `mean` (K, n) of the hypotheses `rows`, on the scale: both readings
    corrected for the same sources, each for the meter it was taken to be."""
    if np.all(evidence.meter_ohms == METER_OHMS) and np.all(evidence.corrected_for == METER_OHMS):
        return 0.0
    source = prepared.source[np.ix_(rows, evidence.at)]
    known = prepared.source[0] if prepared.corrected is None else prepared.corrected
    share = _share_left_by_meter(source, evidence.meter_ohms) / _share_left_by_meter(source, METER_OHMS)
    share *= _share_left_by_meter(known[evidence.at], METER_OHMS) / _share_left_by_meter(
        known[evidence.at], evidence.corrected_for
    )
    return np.arcsinh(np.sinh(mean) * share) - mean


def _share_left_by_meter(source, meter_ohms):
    """What a meter leaves of the volts of a source."""
    return 1 / (1 + source / meter_ohms)


def _residual(evidence: Evidence, mean):
    residual = evidence.z - mean
    residual[:, evidence.over] = np.maximum(residual[:, evidence.over], 0.0)  # censored: anything beyond is as good
    return residual


def mixtures(residual, cov, chances, slip_logs) -> float:
    """Log density of one hypothesis: residual (1, n), cov (1, n, n)."""
    return float(_mixtures(residual, _invert_cholesky(cov[0])[None], chances, slip_logs)[0][0])


def _mixtures(residual, roots, chances, slip_logs):
    """(log densities, slip probabilities, tails) of many hypotheses, each with its own root."""
    whitened = np.einsum("fij,fj->fi", roots, residual)
    pulled = np.einsum("fij,fi->fj", roots, whitened)
    own = np.einsum("fij,fij->fj", roots, roots)
    log_det = -2 * np.log(np.einsum("fii->fi", roots)).sum(axis=1)
    return _slips((whitened**2).sum(axis=1), log_det, pulled, own, chances, slip_logs)


def _over_sizes(prepared: Prepared, evidence: Evidence, cov, fit: Fit) -> None:
    """Fill in the fits of faults that come in all sizes: good parts scatter as in a healthy kit, whose covariance is
    given, and a size's readings spread along its span, which is a correction of rank one to it. What the model doubts
    is added as it is at the size that comes nearest."""
    every = appearances(prepared)
    mean = every.mean[:, evidence.at]
    loaded = mean + _change_by_loading(prepared, evidence, mean, every.row)
    residual, chances = _residual(evidence, loaded), evidence.chances_under(loaded)
    log, tail, peak = np.full(len(residual), -np.inf), np.zeros(len(residual)), np.full(len(residual), -np.inf)
    slipped, spans = np.zeros_like(residual), every.span[:, evidence.at]
    own_doubt = every.each[:, evidence.at] + _variance_of_leaks(prepared, evidence, mean)
    stay, odds = spend_doubt(every.disturbing, prepared.drift[evidence.at], residual, np.diag(cov) + own_doubt)
    own_doubt = own_doubt - stay
    for which, added in _alike_in_doubt(every, evidence, residual, cov, own_doubt):
        root = _invert_cholesky(cov if added is None else add_variances(cov, *added))
        log[which], slipped[which], tail[which], wide = _along_spans(
            residual[which], spans[which], root, chances[which], evidence.slip_logs
        )
        log[which] += odds[which]
        peak[which] = log[which] + wide
    _gather_appearances(every, log, slipped, tail, fit)
    np.fmax.at(fit.peak, every.row, np.where(np.isneginf(peak), IMPOSSIBLE, peak))


def _alike_in_doubt(every: Appearances, evidence: Evidence, residual, cov, own_doubt):
    """Yield (appearances, what the model doubts of them): those of which it doubts nothing together, without; the
    others of each fault with those of which it doubts as much, unless two readings are too far off. The doubt of a
    fault at its worst is none of the same fault that hardly shows: that would explain anything."""
    together = every.together[:, evidence.at]
    spread = np.sqrt(np.diag(cov) + own_doubt + together**2 + every.span[:, evidence.at] ** 2)
    away = np.abs(residual) / spread
    known = ~np.isnan(away).any(axis=1)
    away[~known] = np.inf
    near = known & _is_near(away * (FURTHEST / FURTHEST_SIZE))
    if not near.any():
        return
    at = np.flatnonzero(near)
    cost = (away[at] ** 2).sum(axis=1) + 2 * np.log(spread[at]).sum(axis=1)  # a wide doubt comes near to everything
    at = at[np.lexsort((cost, every.row[at]))]  # of each fault the likeliest size first
    doubt = own_doubt[at] + together[at] ** 2
    certain = ~(doubt / np.diag(cov) > DOUBTS).any(axis=1)
    if certain.any():
        yield at[certain], None
    at, doubt = at[~certain], doubt[~certain]
    while len(at):
        alike = (every.row[at] == every.row[at[0]]) & (doubt >= AS_DOUBTFUL * doubt[0]).all(axis=1)
        yield at[alike], (own_doubt[at[0]], together[at[0]])
        at, doubt = at[~alike], doubt[~alike]


def _gather_appearances(every: Appearances, log, slipped, tail, fit: Fit) -> None:
    """From each appearance (K) to its fault."""
    rows, start = np.unique(every.row, return_index=True)
    if not len(rows):
        return
    log = log + every.share
    at = np.searchsorted(rows, every.row)
    most = np.maximum.reduceat(log, start)
    safe = np.where(np.isneginf(most), 0.0, most)
    share = np.exp(log - safe[at])
    whole = np.add.reduceat(share, start)
    share = share / np.where(whole > 0, whole, 1.0)[at]
    known = np.bitwise_or.reduceat(~np.isnan(every.mean).any(axis=1), start)
    with np.errstate(divide="ignore"):
        fit.log[rows] = np.where(whole > 0, safe + np.log(whole), np.where(known, IMPOSSIBLE, np.nan))
    fit.slipped[rows] = np.add.reduceat(share[:, None] * slipped, start, axis=0)
    fit.tail[rows] = np.add.reduceat(share * tail, start)


def _along_spans(residual, spans, root, chances, slip_logs):
    """(log densities, slip probabilities, tails, what the spans take from the densities)."""
    whitened, turned = residual @ root.T, spans @ root.T
    pulled, along = whitened @ root, turned @ root
    scale = 1 + (turned**2).sum(axis=1)
    across = (spans * pulled).sum(axis=1)
    own = (root**2).sum(axis=0) - along**2 / scale[:, None]
    log_det = -2 * np.log(np.diag(root)).sum() + np.log(scale)
    distance = (whitened**2).sum(axis=1) - across**2 / scale
    slips = _slips(distance, log_det, pulled - along * (across / scale)[:, None], own, chances, slip_logs)
    # At its best within the span: without what the span costs by being wide, or by its middle not being the best.
    beside = np.minimum(0.5 * across**2 / (scale * np.maximum(scale - 1, 1e-12)), 0.5 * WITHIN**2)
    return *slips, 0.5 * np.log(scale) + beside


def _slips(distance, log_det, pulled, own, chances, slip_logs):
    n = pulled.shape[1]
    joint = -0.5 * (distance + log_det + n * LOG_TWO_PI)
    # log p(z_j | the others): taking it out of the joint density leaves that of the others.
    taken = pulled**2 / own
    without = joint[:, None] + 0.5 * (taken - np.log(own) + LOG_TWO_PI) + slip_logs
    chances = np.atleast_2d(chances)
    all_right = np.log1p(-chances).sum(axis=1, keepdims=True)
    with np.errstate(divide="ignore"):  # a reading that cannot be one
        slipped = all_right - np.log1p(-chances) + np.log(chances)
    terms = np.concatenate((joint[:, None] + all_right, without + slipped), axis=1)
    most = terms.max(axis=1)
    whole = most + np.log(np.exp(terms - most[:, None]).sum(axis=1))
    slips = np.exp(terms[:, 1:] - whole[:, None])
    remaining = np.maximum(distance - (slips * taken).sum(axis=1), 0.0)
    return whole, slips, gammaincc(n / 2, remaining / 2)


@finite_arguments
def something_else_density(residual, cov, another: float, checks: int = 1) -> float:
    """Log density of "something else": a healthy kit but for readings that may be anything, the worst taken first;
    each further one with the chance `another`, a single one only as likely as one of all the `checks` of a guide."""
    n = len(residual)
    precision = np.linalg.inv(cov)
    r, offsets = residual.copy(), []
    joint = -0.5 * (r @ precision @ r + np.linalg.slogdet(cov)[1] + n * LOG_TWO_PI)
    for taken in range(1, n + 1):
        own, pulled = np.diag(precision), precision @ r
        log_densities = -0.5 * (pulled**2 / own - np.log(own) + LOG_TWO_PI)
        worst = int(np.argmin(log_densities))
        if taken > 1 and pulled[worst] ** 2 / own[worst] < AWAY**2:
            break  # what is left is as in a healthy kit
        joint -= log_densities[worst]
        keep = np.arange(len(r)) != worst
        precision = (
            precision[np.ix_(keep, keep)] - np.outer(precision[keep, worst], precision[worst, keep]) / own[worst]
        )
        r = r[keep]
        alone = -np.log(max(n, checks)) if taken == 1 else 0.0
        offsets.append(joint - taken * np.log(RANGE) + taken * np.log(another) + alone)
    return float(logsumexp(offsets))
