"""The likeliest causes of a ranking, as a builder or a designer sees them."""

from dataclasses import dataclass

from numpy import isnan, sinh, sqrt

from builds.bench.models import ConfirmedFault
from builds.guides.soldering import soldering_step
from builds.ui.messages.advice import likelihood_label, predicted_reading
from checks.circuit.prediction.probes import UNITS
from checks.diagnosis import Fault, Prepared, Ranking, updated_priors
from checks.diagnosis.codes import Likelihood
from checks.diagnosis.reading_scale import to_scale

LEAST, MOST = 0.04, 4  # causes shown: at least so likely, and no more than this many
OTHERS = 3  # further places named that a cause may be at
OPEN = 2e7  # Ω: what a meter shows as over range
MOVES = 2.0  # standard deviations of a good kit, from which a fault moves a reading


@dataclass(frozen=True)
class Cause:
    """One group of faults, which the readings do not tell apart: `fault` is the likeliest, `at` all those at the same
    place, `others` those at the next places, each place's likeliest first. `moves` says whether this check would read
    otherwise than in a good kit, `value` and `unit` what (None: over range); `varies`, that it goes by the fault's
    size. `step` is where its part is fitted: (stage, step or None)."""

    fault: Fault
    at: tuple[Fault, ...]
    others: tuple[tuple[Fault, ...], ...]
    probability: float
    moves: bool
    value: float | None
    unit: str
    step: tuple | None
    varies: bool = False

    @property
    def folded(self) -> tuple[Fault, ...]:
        """All that is neither named first nor the likeliest at a further place."""
        return tuple(fault for place in (self.at, *self.others) for fault in place[1:])

    @property
    def likelihood(self) -> Likelihood:
        return Likelihood.of(self.probability)

    @property
    def weight(self) -> str:
        """How likely, in words."""
        return likelihood_label(self.likelihood)

    @property
    def would_read(self) -> str:
        """What the check would read, in words; empty where it would read as in a good kit, or by the fault's size."""
        return predicted_reading(self.value, self.unit) if self.moves and not self.varies else ""

    @property
    def bar(self) -> int:
        """Length of its bar, of 100."""
        return max(2, round(100 * self.probability))


def priors_for(kit, prepared: Prepared) -> dict[str, float] | None:
    """The kit's fault weights as its confirmed causes have made them; None where nothing is confirmed."""
    known = {fault.key for fault in prepared.faults}
    rows = ConfirmedFault.objects.filter(build__revision__kit=kit, taken_back_at=None)
    keys = [key for key in rows.values_list("fault", flat=True) if key in known]
    return updated_priors(prepared.faults, keys) if keys else None


def list_causes(ranking: Ranking, prepared: Prepared, name: str, guide, least: float = LEAST) -> tuple[Cause, ...]:
    """The likeliest causes, with what the check of this name would read under each. Those that explain nothing of what
    was read are none: a valve that is not fitted yet, a joint that no reading so far could show."""
    return tuple(
        _cause(group, prepared, prepared.index[name], guide)
        for group in ranking.groups[:MOST]
        if group.probability >= least and not ranking.idle.issuperset(fault.key for fault in group.faults)
    )


def _cause(group, prepared: Prepared, place: int, guide) -> Cause:
    fault = group.faults[0]
    varies = _moves_by_size(prepared, fault, place)
    moves, value = (True, None) if varies else _reading_under(prepared, fault, place)
    unit = UNITS[prepared.places[place].probe.measure]
    at, *others = group.places
    step = soldering_step(guide, fault.refs)
    return Cause(fault, at, tuple(others[:OTHERS]), group.probability, moves, value, unit, step, varies)


def moves_check(prepared: Prepared, fault: Fault, name: str) -> bool:
    """Does a fault change what the check of this name reads?"""
    if name not in prepared.index:
        return False
    place = prepared.index[name]
    return _moves_by_size(prepared, fault, place) or _reading_under(prepared, fault, place)[0]


def _row(prepared: Prepared, fault: Fault) -> int:
    return [f.key for f in prepared.faults].index(fault.key) + 1


def _moves_by_size(prepared: Prepared, fault: Fault, place: int) -> bool:
    """Is it a fault of many sizes, some of which move what the check reads? No one figure says how far."""
    sizes = prepared.size_mean[prepared.size_row == _row(prepared, fault), place]
    least = MOVES * sqrt(prepared.cov[0, place, place])
    return bool((abs(sizes - prepared.mean[0, place]) >= least).any())


def _reading_under(prepared: Prepared, fault: Fault, place: int) -> tuple[bool, float | None]:
    """(does the check read otherwise than in a good kit, what it reads in SI; None over range)."""
    row = _row(prepared, fault)
    mean, healthy = prepared.mean[row, place], prepared.mean[0, place]
    if isnan(mean) or abs(mean - healthy) < MOVES * sqrt(prepared.cov[0, place, place]):
        return False, None
    if UNITS[prepared.places[place].probe.measure] == "Ω" and mean >= to_scale(OPEN, prepared.units[place]):
        return True, None
    return True, float(sinh(mean) * prepared.units[place])
