"""From the readings so far to how likely every fault is.

Readings under a fault are jointly normal on the scale of space.py, with the scatter of good parts, the meter's
uncertainty and the line's. One reading may be a slip (a typing error, a probe on the wrong point): the likelihood is a
mixture of "none is" and "this one is" for each reading, so that a single slip cannot decide. "Something else" stands
for two faults at once and for what nobody thought of: two readings or more may then be anything at all, and the rest
are as in a healthy kit. One mistake may also spoil many readings at once: the meter's leads swapped, or every figure
noted a thousand times too small (common.py).
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy.linalg.lapack import dpotrf, dtrtri
from scipy.special import logsumexp

from checks.diagnosis.common_mistakes import COMMON, Mistake, mistaken
from checks.diagnosis.dictionary import Prepared
from checks.diagnosis.reading_scale import FLOOR, slope, to_scale
from checks.diagnosis.slips import Slip, slips_of
from checks.errors import ChecksError

HEALTHY = 0.35  # prior of no fault at all, for a kit somebody has begun to doubt
OTHER = 0.03  # prior of something else
SLIP, AGAIN = 0.01, 0.1  # of a reading being a slip; what is left of it where a second reading agrees
RANGE = 14.0  # width of the scale over which a slip or an unknown fault may put a reading
ANOTHER = 0.3  # in “something else”, the chance of one more reading being off
ALIKE = 2.0  # combined standard deviations below which no reading tells two faults apart


@dataclass(frozen=True)
class Observation:
    """One reading: which place (Place.name), its value at the guide's mains and standard uncertainty in SI; value None
    is over range. `repeated`: taken twice with the same outcome, so that it is hardly a slip. `past_stop`: past its
    stop limit, so that nobody may take it for one."""

    place: str
    value: float | None
    u: float = 0.0
    repeated: bool = False
    past_stop: bool = False

    @property
    def slip_chance(self) -> float:
        """Prior probability that this reading says nothing of the kit."""
        return 0.0 if self.past_stop else SLIP * (AGAIN if self.repeated else 1.0)

    def __post_init__(self):
        if self.value is not None and not np.isfinite(self.value):
            raise ChecksError("An observed reading is a finite number, or over range.", argument="value")
        if not self.u >= 0:
            raise ChecksError("An observed reading's uncertainty is zero or more.", argument="u")


@dataclass(frozen=True)
class Group:
    """Faults that no reading of the guide can tell apart, with their probability together; faults likeliest first."""

    faults: tuple
    probability: float


@dataclass(frozen=True)
class Ranking:
    """Probability of a healthy kit, of something else, and the groups, likeliest first. `each` (F,) is by single fault.

    `unseen` are the faults that no reading of the guide shows: what is left to doubt of a kit that reads healthy.
    `slips` are the readings that are likely to say nothing of the kit, `mistake` what may have spoiled many of them at
    once.
    """

    healthy: float
    other: float
    groups: tuple[Group, ...]
    each: np.ndarray
    unseen: Group
    slips: tuple[Slip, ...] = ()
    mistake: Mistake | None = None

    @property
    def clear(self) -> float:
        """Probability that nothing is wrong that the guide's readings could show."""
        return self.healthy + self.unseen.probability + (self.mistake.probability if self.mistake else 0.0)

    def given_a_fault(self) -> "Ranking":
        """The same, knowing that something is wrong: no healthy kit, no slip and no mistake at the meter. What is to be
        thought while a reading past its stop limit stands."""
        shown = sum(group.probability for group in self.groups)
        whole = shown + self.other
        if whole <= 0:
            return replace(self, healthy=0.0, other=1.0, unseen=Group((), 0.0), slips=(), mistake=None)
        return replace(
            self,
            healthy=0.0,
            other=self.other / whole,
            groups=tuple(Group(group.faults, group.probability / whole) for group in self.groups),
            each=self.each / whole,
            unseen=Group((), 0.0),
            slips=(),
            mistake=None,
        )


def rank(prepared: Prepared, observations, priors: dict[str, float] | None = None, line_u: float = 0.004) -> Ranking:
    """Posterior over faults given observations (of places that `prepared` knows; others are left out).

    `priors` are weights by fault key in place of the faults' own. `line_u` is the line's relative standard uncertainty.
    """
    logs = np.log(_prior(prepared, priors))
    index = prepared.index
    rows = [(index[o.place], o) for o in observations if o.place in index]
    slipped, z = np.zeros((len(logs), len(rows))), ()
    if rows:
        found, slipped, z = _log_likelihood(prepared, rows, line_u)
        logs = logs + found
    last = 1 + len(prepared.faults)  # something else; after it the mistakes
    p = np.exp(logs - logsumexp(logs))
    unseen, groups = _groups(prepared, p[1:last])
    return Ranking(
        float(p[0]),
        float(p[last]),
        groups,
        p[1:last],
        unseen,
        slips_of(prepared, rows, z, p @ slipped),
        mistaken(p[last + 1 :]),
    )


def _prior(prepared: Prepared, priors) -> np.ndarray:
    """(F + 2 + mistakes,): healthy, the faults, something else, one mistake in many readings."""
    weights = np.array([(priors or {}).get(f.key, f.weight) for f in prepared.faults])
    mistakes = [m.prior for m in COMMON]
    return np.concatenate(
        ([HEALTHY], weights / weights.sum() * (1 - HEALTHY - OTHER - sum(mistakes)), [OTHER], mistakes)
    )


OVER = {"off": 2e6, "on": 600.0}  # a meter's over range means at least this much, in Ω or V (common practice)
MANY_READ = 4e6  # Ω: nearly every meter reads so far, so that over range tells something; above it many meters give up
SURE_OVER = 0.15  # standard deviation, on the scale, of where over range begins


def over_from(power: str, nominal: float) -> float:
    """What a meter's over range means at least, where a good kit reads `nominal`."""
    return OVER[power] if power == "off" and nominal > MANY_READ else max(OVER[power], 1.5 * nominal)


def observed(prepared: Prepared, rows):
    """(columns, z, variance of the measurement, which are over range) of observations on the scale."""
    at = np.array([n for n, _o in rows])
    units = prepared.units[at]
    z, var, over = np.empty(len(rows)), np.empty(len(rows)), np.zeros(len(rows), bool)
    for k, (n, o) in enumerate(rows):
        if o.value is None:
            beyond = over_from(prepared.places[n].power, abs(prepared.nominal[n]))
            z[k], var[k], over[k] = to_scale(beyond, units[k]), SURE_OVER**2, True
        else:
            z[k] = to_scale(o.value, units[k])
            var[k] = (o.u * slope(o.value, units[k])) ** 2
    return at, z, var, over


def _log_likelihood(prepared: Prepared, rows, line_u: float):
    """(log likelihoods of all that _prior lists, probability of each reading being a slip under each (…, n), the
    readings on the scale)."""
    at, z, var, over = observed(prepared, rows)
    mean = prepared.mean[:, at]
    cov = prepared.cov[:, at[:, None], at[None, :]].copy()
    diagonal = np.arange(len(at))
    cov[:, diagonal, diagonal] += var + FLOOR
    values = np.sinh(mean) * prepared.units[at]
    along = line_u * prepared.exponents[at] * values * slope(values, prepared.units[at])
    cov += np.nan_to_num(along[:, :, None] * along[:, None, :])
    lost = np.isnan(mean).any(axis=1)
    residual = np.nan_to_num(z - mean)
    residual[:, over] = np.maximum(residual[:, over], 0.0)  # censored: anything beyond is as good
    chances = np.array([o.slip_chance for _n, o in rows])
    found, slipped = _slips(residual, cov, chances)
    broad = _several(residual[0], cov[0])
    found[lost] = broad  # a circuit that has no solution: as little known as something else
    slipped[lost] = 0.0
    spoiled = [_spoiled(prepared, m, rows, residual[0], cov[0], z, chances) for m in COMMON]
    return np.concatenate((found, [broad], spoiled)), np.concatenate((slipped, np.zeros((1 + len(spoiled), len(z))))), z


def _spoiled(prepared: Prepared, mistake, rows, residual, cov, z, chances) -> float:
    """Log density of a healthy kit of which many readings, those it may have spoiled, went through one mistake."""
    whole = mistake.undone(prepared, rows, residual, cov, z)
    return -np.inf if whole is None else float(_slips(whole[None, :], cov[None], chances)[0][0])


def _slips(residual, cov, chances):
    """(log densities (F + 1,) that no reading is a slip or one of them is, and how likely each (F + 1, n) is the one).
    `chances` (n,) of each being one."""
    n = residual.shape[1]
    roots = np.stack([_inverse_root(c) for c in cov])
    whitened = np.einsum("fij,fj->fi", roots, residual)
    pulled = np.einsum("fij,fi->fj", roots, whitened)
    log_det = -2 * np.log(np.einsum("fii->fi", roots)).sum(axis=1)
    joint = -0.5 * ((whitened**2).sum(axis=1) + log_det + n * np.log(2 * np.pi))
    own = np.einsum("fij,fij->fj", roots, roots)
    # log p(z_j | the others): taking it out of the joint density leaves that of the others.
    each = -0.5 * (pulled**2 / own - np.log(own) + np.log(2 * np.pi))
    without = joint[:, None] - each - np.log(RANGE)
    kept = np.log1p(-chances).sum()
    with np.errstate(divide="ignore"):  # a reading that cannot be one
        slipped = kept - np.log1p(-chances) + np.log(chances)
    whole = logsumexp(np.concatenate((joint[:, None] + kept, without + slipped), axis=1), axis=1)
    return whole, np.exp(without + slipped - whole[:, None])


def _inverse_root(cov):
    """L⁻¹ of one covariance L Lᵀ. By LAPACK itself: half the time of numpy's inverse and determinant."""
    return dtrtri(dpotrf(cov, lower=1, clean=1)[0], lower=1)[0]


def _several(residual, cov) -> float:
    """Log density of “something else”: a healthy kit but for two readings or more that may be anything, the worst taken
    first."""
    n = len(residual)
    precision = np.linalg.inv(cov)
    left = np.arange(n)
    r = residual.copy()
    joint = -0.5 * (r @ precision @ r + np.linalg.slogdet(cov)[1] + n * np.log(2 * np.pi))
    found = []
    for taken in range(1, n + 1):
        own, pulled = np.diag(precision), precision @ r
        each = -0.5 * (pulled**2 / own - np.log(own) + np.log(2 * np.pi))
        worst = int(np.argmin(each))
        joint -= each[worst]
        keep = np.arange(len(left)) != worst
        precision = (
            precision[np.ix_(keep, keep)] - np.outer(precision[keep, worst], precision[worst, keep]) / own[worst]
        )
        left, r = left[keep], r[keep]
        if taken >= 2 or n == 1:
            found.append(joint - taken * np.log(RANGE) + taken * np.log(ANOTHER))
    return float(logsumexp(found))


def alike(prepared: Prepared) -> tuple[list[int], list[list[int]]]:
    """(faults that no place of the guide tells from a healthy kit, the others in sets that none tells apart), by ALIKE
    standard deviations. Places that only an extra reading reaches are left out."""
    at = [n for n, p in enumerate(prepared.places) if p.check]
    mean, var = prepared.mean[:, at], np.einsum("fii->fi", prepared.cov)[:, at] + FLOOR
    unseen, sets = [], []
    for f in range(1, len(mean)):
        for members in ([0], *sets):
            lead = members[0]
            apart = np.abs(mean[f] - mean[lead]) / np.sqrt(var[f] + var[lead])
            if not np.max(np.where(np.isnan(apart), 99.0, apart), initial=0.0) > ALIKE:
                (unseen if lead == 0 else members).append(f)
                break
        else:
            sets.append([f])
    return [f - 1 for f in unseen], [[f - 1 for f in members] for members in sets]


def _groups(prepared: Prepared, each) -> tuple[Group, tuple[Group, ...]]:
    unseen, sets = sets_of(prepared)
    found = sorted((_group(prepared, members, each) for members in sets), key=lambda g: -g.probability)
    return _group(prepared, unseen, each), tuple(found)


def _group(prepared: Prepared, members, each) -> Group:
    order = sorted(members, key=lambda f: -each[f])
    return Group(tuple(prepared.faults[f] for f in order), float(each[members].sum()) if members else 0.0)


def sets_of(prepared: Prepared):
    """`alike`, worked out once for a Prepared."""
    if "_sets" not in prepared.__dict__:
        object.__setattr__(prepared, "_sets", alike(prepared))
    return prepared.__dict__["_sets"]
