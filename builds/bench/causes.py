"""What is probably wrong with a build, from its readings so far, and which reading would tell more."""
from dataclasses import dataclass

from numpy import isnan, sinh, sqrt

from builds.bench import extras
from builds.bench.models import Build, ConfirmedFault
from builds.guides.circuit.book import book_of
from builds.guides.frozen import guide_of
from checks.circuit.probes import UNITS
from checks.faults import Observation, Prepared, Ranking, Suggestion, next_reading, rank, updated_priors
from checks.faults.space import to_scale
from checks.quantity import format_quantity

WORDS = ((0.8, "very likely"), (0.5, "likely"), (0.15, "possible"), (0.0, "less likely"))
LEAST_SLIP = 0.15
LEAST, MOST = 0.04, 4  # causes shown: at least so likely, and no more than this many


@dataclass(frozen=True)
class Cause:
    """One group of faults as a builder sees it: `would_read` is what this check reads if it is so; `step` where it was fitted."""

    fault: object
    others: tuple
    probability: float
    weight: str
    would_read: str
    step: tuple | None  # (stage, step)

    @property
    def bar(self) -> int:
        """Length of its bar, of 100."""
        return max(2, round(100 * self.probability))


@dataclass(frozen=True)
class Diagnosis:
    """`clear` is the probability that everything but a slip is right; `other` that it is none of the faults known here."""

    causes: tuple[Cause, ...]
    clear: float
    other: float
    suggestion: Suggestion | None
    check: object | None  # the guide's check that the suggestion names, if it is one
    slips: tuple[tuple[str, str, str], ...] = ()  # (title of the check, how likely in words, what kind of slip)

    @property
    def slip(self) -> bool:
        return self.clear > 0.5


def observations(build: Build) -> list[Observation]:
    """Where the build stands on each check, at the guide's mains, and what was measured beside the guide."""
    rows = build.standings.select_related("latest", "check_row__stage")
    along = build.carried.exclude(reading=None).select_related("reading", "check_row__stage")
    carried = [Observation(f"{c.check_row.stage.key}/{c.check_row.key}", c.reading.at_reference, c.reading.u) for c in along
               if c.reading.at_reference is not None]
    own = [observation_of(s) for s in rows if s.latest.at_reference is not None or s.latest.over_range]
    return [*carried, *own, *extras.observed(build)]


def observation_of(standing) -> Observation:
    """A build's latest reading of a check."""
    reading = standing.latest
    name = f"{standing.check_row.stage.key}/{standing.check_row.key}"
    return Observation(name, None if reading.over_range else reading.at_reference, 0.0 if reading.over_range else reading.u)


def priors_for(kit, prepared: Prepared) -> dict[str, float] | None:
    """The kit's fault weights as its confirmed causes have made them; None where nothing is confirmed."""
    known = {fault.key for fault in prepared.faults}
    keys = [key for key in ConfirmedFault.objects.filter(build__revision__kit=kit, taken_back_at=None).values_list("fault", flat=True)
            if key in known]
    return updated_priors(prepared.faults, keys) if keys else None


def ranking_of(build: Build, prepared: Prepared, seen=None) -> Ranking:
    return rank(prepared, observations(build) if seen is None else seen, priors_for(build.revision.kit, prepared))


def diagnose(build: Build, check) -> Diagnosis | None:
    """What a reading of `check` that is off may come from; None while the kit's fault book is not there."""
    prepared = book_of(build.revision)
    if prepared is None:
        return None
    seen = observations(build)
    ranking = ranking_of(build, prepared, seen)
    place = prepared.index.get(f"{check.stage.key}/{check.key}")
    guide = guide_of(build.revision)
    causes = tuple(_cause(group, prepared, place, guide) for group in ranking.groups[:MOST] if group.probability >= LEAST)
    suggestion = next_reading(prepared, ranking, {o.place for o in seen}, lambda p: p.power == "off" or p.stage == check.stage.key)
    named = suggestion and suggestion.place.check and _check(guide, suggestion.place)
    return Diagnosis(causes, ranking.clear, ranking.other, suggestion, named or None, _slips(guide, ranking))


def _check(guide, place):
    return next((c for s in guide.stages if s.key == place.stage for c in s.checks.all() if c.key == place.check), None)


def _slips(guide, ranking) -> tuple:
    titles = {f"{s.key}/{c.key}": c.title for s in guide.stages for c in s.checks.all()}
    return tuple((titles[slip.place], _weight(slip.probability), slip.words) for slip in ranking.slips[:2]
                 if slip.place in titles and slip.probability >= LEAST_SLIP)


def _weight(probability: float) -> str:
    return next(words for least, words in WORDS if probability >= least)


def _cause(group, prepared: Prepared, place: int | None, guide) -> Cause:
    fault = group.faults[0]
    return Cause(fault, group.faults[1:4], group.probability, _weight(group.probability), _would_read(prepared, fault, place),
                 _step(guide, fault.refs))


def _would_read(prepared: Prepared, fault, place: int | None) -> str:
    """What the check would read under a fault; empty when it would read as in a healthy kit."""
    if place is None:
        return ""
    row = [f.key for f in prepared.faults].index(fault.key) + 1
    mean, healthy = prepared.mean[row, place], prepared.mean[0, place]
    if isnan(mean) or abs(mean - healthy) < 2 * sqrt(prepared.cov[0, place, place]):
        return ""
    value = float(sinh(mean) * prepared.units[place])
    unit = UNITS[prepared.places[place].probe.measure]
    if unit == "Ω" and to_scale(value, prepared.units[place]) >= to_scale(2e7, prepared.units[place]):
        return "over range"
    return f"about {format_quantity(value, unit, 2)}"


def _step(guide, refs):
    """(stage, step) in which the first of these parts is fitted."""
    for stage in guide.stages:
        for step in stage.steps.all():
            if any(ref in step.parts for ref in refs):
                return stage, step
    return None
