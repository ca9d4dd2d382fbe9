"""From the readings so far to how likely every fault is.

likelihood.py says how likely the readings are under each fault. "Something else" stands for two faults at once and for
what is on no list: one reading or more may then be anything at all, and the rest are as in a healthy kit. A fault that
does not fit the readings by its own scatter gives its probability to it, however little the others fit. One mistake may
also spoil many readings at once: the meter's leads swapped, or every figure noted a thousand times too small.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy.special import logsumexp

from checks.diagnosis.ambiguity import Group
from checks.diagnosis.centring import centre_on
from checks.diagnosis.common_mistakes import COMMON, Mistake, MistakeKind, likeliest_mistake
from checks.diagnosis.dictionary import Prepared
from checks.diagnosis.grouping import group_parts
from checks.diagnosis.likelihood import METER_OHMS, Evidence, covariance, fit_all, mixtures, something_else_density
from checks.diagnosis.reading_scale import slope, to_scale
from checks.diagnosis.slips import Slip, list_slips, slip_logs
from checks.errors import CallerError
from checks.finite import finite_arguments, finite_figures, refuse_unreal

HEALTHY = 0.35  # prior of no fault at all, for a kit somebody has begun to doubt
OTHER = 0.03  # prior of something else
SLIP, AGAIN = 0.01, 0.03  # of a reading being a slip; what is left of it where a second reading agrees
MEASURED_WRONG = 0.05  # of the prior of a far too low or high mains, where the mains was measured
ANOTHER = 0.3  # in "something else", the chance of one more reading being off
ILL_FITTING = 0.05  # a fault under which builds read so far off no oftener than this is not named with confidence
SURE = 0.5  # probability above which a good kit, or one mistake in many readings, is taken for what it is
EXPLAINS = 0.5  # log density above a healthy kit's, from which a fault explains something
UNSEEN_AT_MOST = 3.0  # times its prior beside a healthy kit, that a fault no reading shows counts as clear


@dataclass(frozen=True)
class Observation:
    """One reading: which place (Place.name), its value at the guide's mains and standard uncertainty in SI; value None
    is over range. `repeated`: taken twice with the same outcome, so that it is hardly a slip. `past_stop`: past its
    stop limit, so that nobody may take it for one. `line_known`: the mains was measured as it was taken;
    `line_unmeasured`: it was taken with the power on, and the mains was not. `meter_ohms`: what its correction took the
    meter to have on the range of this reading; None where nothing tells."""

    place: str
    value: float | None
    u: float = 0.0
    repeated: bool = False
    past_stop: bool = False
    line_known: bool = False
    line_unmeasured: bool = False
    meter_ohms: float | None = None

    @property
    def slip_chance(self) -> float:
        """Prior probability that this reading says nothing of the kit."""
        return 0.0 if self.past_stop else SLIP * (AGAIN if self.repeated else 1.0)

    def __post_init__(self):
        if self.value is not None and not np.isfinite(self.value):
            raise CallerError("An observed reading is a finite number, or over range.", argument="value")
        if not self.u >= 0:
            raise CallerError("An observed reading's uncertainty is zero or more.", argument="u")
        refuse_unreal(self, "meter_ohms", above=0)


@finite_figures
@dataclass(frozen=True)
class Ranking:
    """Probability of a healthy kit, of something else, and the groups, likeliest first. `each` (F,) is by single fault.

    `unseen` are the faults that no reading of the guide shows: what is left to doubt of a kit that reads healthy. Where
    the readings speak for one of them, what goes beyond that doubt is a group of its own.
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
    idle: frozenset[str] = frozenset()  # keys of faults of which the readings show no more than of a healthy kit

    @property
    def clear(self) -> float:
        """Probability that nothing is wrong that the guide's readings could show."""
        return self.healthy + self.unseen.probability + (self.mistake.probability if self.mistake else 0.0)

    @property
    def fits_good_kit(self) -> bool:
        """Whether the readings, taken together, more likely fit a good kit than not."""
        return self.clear > SURE

    @property
    def sure_mistake(self) -> MistakeKind | None:
        """What has more likely spoiled many readings than not."""
        return self.mistake.kind if self.mistake and self.mistake.probability > SURE else None

    def condition_on_fault(self) -> "Ranking":
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


@finite_arguments
def rank(
    prepared: Prepared,
    observations,
    priors: dict[str, float] | None = None,
    line_u: float = 0.004,
    meter_ohms: float | None = METER_OHMS,
    centres: dict[str, float] | None = None,
    corrected: dict[str, float] | None = None,
) -> Ranking:
    """Posterior over faults given observations (of places that `prepared` knows; others are left out).

    `priors` are weights by fault key in place of the faults' own. `line_u` is the line's relative standard uncertainty,
    `meter_ohms` the input resistance of the builder's meter, of a reading that says none of its own; None where nobody
    knows the meter, which then has what nearly every meter has, whatever a reading was corrected for. `centres` are
    what good kits read by place name, from the guide or from builds, where that is known better than the circuit tells
    (see centring.py). `corrected` are the source resistances by place name that the readings were corrected for; by
    default those that the circuit tells.
    """
    prepared = centre_on(prepared, centres or {}, corrected) if centres or corrected is not None else prepared
    index = prepared.index
    rows = [(index[o.place], o) for o in observations if o.place in index]
    prior = _prior(prepared, priors, any(o.line_known for _n, o in rows))
    p, slipped, peaks, z = prior, np.zeros((len(prior), len(rows))), np.zeros(len(prior)), np.zeros(0)
    if rows:
        evidence = gather_evidence(prepared, rows, line_u, meter_ohms)
        p, slipped, peaks = _posterior(prepared, rows, evidence, prior)
        z = evidence.z
    last = 1 + len(prepared.faults)  # something else; after it the mistakes
    extras = frozenset(n for n, _o in rows if not prepared.places[n].check)
    clear = UNSEEN_AT_MOST * p[0] * prior[1:last] / prior[0]
    unseen, groups = group_parts(prepared, p[1:last], clear, peaks[:last], extras)
    return Ranking(
        float(p[0]),
        float(p[last]),
        groups,
        p[1:last],
        unseen,
        list_slips(prepared, rows, z, p @ slipped),
        likeliest_mistake(p[last + 1 :]),
        _unsupported_faults(prepared, p, prior),
    )


def _unsupported_faults(prepared: Prepared, p, prior) -> frozenset[str]:
    """Keys of the faults that the readings speak for hardly more than for a healthy kit."""
    faults = slice(1, 1 + len(prepared.faults))
    is_idle = p[faults] * prior[0] <= np.exp(EXPLAINS) * p[0] * prior[faults]
    return frozenset(fault.key for fault, idle in zip(prepared.faults, is_idle, strict=True) if idle)


def _prior(prepared: Prepared, priors, line_known: bool) -> np.ndarray:
    """(F + 2 + mistakes,): healthy, the faults, something else, one mistake in many readings."""
    weights = np.array([(priors or {}).get(f.key, f.weight) for f in prepared.faults])
    if line_known:
        weights *= [MEASURED_WRONG if f.kind == "mains" else 1.0 for f in prepared.faults]
    mistakes = [m.prior for m in COMMON]
    return np.concatenate(
        ([HEALTHY], weights / weights.sum() * (1 - HEALTHY - OTHER - sum(mistakes)), [OTHER], mistakes)
    )


def _posterior(prepared: Prepared, rows, evidence: Evidence, prior):
    """(probabilities of all that _prior lists, probability of each reading being a slip under each, log densities of
    the readings under each fault at its best size)."""
    fit = fit_all(prepared, evidence)
    mean = prepared.mean[0, evidence.at]
    cov = covariance(prepared, evidence, 0, mean)
    residual = evidence.z - mean
    residual[evidence.over] = np.maximum(residual[evidence.over], 0.0)
    broad = something_else_density(residual, cov, ANOTHER, sum(place.check != "" for place in prepared.places))
    lost = np.isnan(fit.log)  # a circuit that has no solution: as little known as something else
    likelihoods = np.where(lost, broad, fit.log)
    spoiled = [_mistake_density(prepared, m, rows, residual, cov, evidence) for m in COMMON]
    logs = np.log(prior) + np.concatenate((likelihoods, [broad], spoiled))
    p = np.exp(logs - logsumexp(logs))
    p = _judged(p, np.where(lost, 1.0, fit.tail), likelihoods)
    return p, np.concatenate((fit.slipped, np.zeros((1 + len(COMMON), len(rows))))), np.where(lost, broad, fit.peak)


def _judged(p, tail, logs):
    """What fits ill by its own scatter gives its probability to something else; but a fault of which the readings show
    no more than of a healthy kit explains nothing that is off, and gives its probability to all."""
    faults = slice(1, len(tail))
    fitting = np.minimum(1.0, tail[faults] / ILL_FITTING)
    p = p.copy()
    p[len(tail)] += (p[faults] * (1 - fitting) * (logs[faults] > logs[0] + EXPLAINS)).sum()
    p[faults] *= fitting
    return p / p.sum()


def _mistake_density(prepared: Prepared, mistake, rows, residual, cov, evidence: Evidence) -> float:
    """Log density of a healthy kit of which many readings, those it may have spoiled, went through one mistake."""
    whole = mistake.undone(prepared, rows, residual, cov, evidence.z)
    chances = evidence.chances_under(prepared.mean[:1, evidence.at])
    return -np.inf if whole is None else mixtures(whole[None, :], cov[None], chances, evidence.slip_logs)


OVER = {"off": 2e6, "on": 600.0}  # a meter's over range means at least this much, in Ω or V (common practice)
MANY_READ = 4e6  # Ω: nearly every meter reads so far, so that over range tells something; above it many meters give up
NARROWEST_WAY = 0.5  # on the scale, in which a way through a diode puts a reading, at the least
SURE_OVER = 0.15  # standard deviation, on the scale, of where over range begins


@finite_arguments
def least_over_range(power: str, nominal: float) -> float:
    """What a meter's over range means at least, where a good kit reads `nominal`."""
    return OVER[power] if power == "off" and nominal > MANY_READ else max(OVER[power], 1.5 * nominal)


@finite_arguments
def gather_evidence(prepared: Prepared, rows, line_u: float = 0.004, meter_ohms: float | None = METER_OHMS) -> Evidence:
    """Observations on the scale."""
    at = np.array([n for n, _o in rows])
    units = prepared.units[at]
    z, var, over = np.empty(len(rows)), np.empty(len(rows)), np.zeros(len(rows), bool)
    for k, (n, o) in enumerate(rows):
        if o.value is None:
            beyond = least_over_range(prepared.places[n].power, abs(prepared.nominal[n]))
            z[k], var[k], over[k] = to_scale(beyond, units[k]), SURE_OVER**2, True
        else:
            z[k] = to_scale(o.value, units[k])
            var[k] = (o.u * slope(o.value, units[k])) ** 2
    stops = np.array([o.past_stop for _n, o in rows], dtype=bool)
    through = prepared.turned_on[at] & ~over & ~stops & (z >= prepared.least_through[at])
    window = prepared.mean[0, at] - prepared.least_through[at]  # in which a way through a diode puts a reading
    chances = np.array([o.slip_chance for _n, o in rows])
    unmeasured = np.array([o.line_unmeasured for _n, o in rows])
    logs = slip_logs(prepared, at, z, over)
    logs = np.where(through, np.maximum(logs, -np.log(np.maximum(window, NARROWEST_WAY))), logs)
    corrected_for = np.array([o.meter_ohms or meter_ohms or METER_OHMS for _n, o in rows])
    loads = corrected_for if meter_ohms else np.full(len(rows), METER_OHMS)
    return Evidence(at, z, var, over, chances, line_u, loads, corrected_for, unmeasured, through, logs)
