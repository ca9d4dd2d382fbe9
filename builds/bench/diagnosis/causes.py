"""What is probably wrong with a build, from its readings so far, and which reading would tell more."""

from dataclasses import dataclass

from numpy import isnan, sinh, sqrt

from builds.bench.diagnosis.allowed_measurements import allowed_measurements, is_stopped
from builds.bench.gates.facts import Facts, facts_of
from builds.bench.models import Build, Carried, ConfirmedFault
from builds.bench.readings import extras
from builds.bench.readings.repeats import repeated
from builds.guides.circuit.fault_dictionary import load_fault_dictionary
from builds.guides.guide_cache import load_guide
from checks.circuit.prediction.probes import UNITS
from checks.diagnosis import Observation, Prepared, Ranking, Suggestion, next_reading, rank, updated_priors
from checks.diagnosis.reading_scale import to_scale
from checks.quantity import format_quantity
from checks.verdict import Outcome

WORDS = ((0.8, "very likely"), (0.5, "likely"), (0.15, "possible"), (0.0, "less likely"))
LEAST_SLIP = 0.15
LEAST, MOST = 0.04, 4  # causes shown: at least so likely, and no more than this many


@dataclass(frozen=True)
class Cause:
    """One group of faults as a builder sees it: `would_read` is what this check reads if it is so, empty where it would
    read as in a good kit; `step` where its part was fitted."""

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
    """`clear` is the probability that everything but a slip is right; `other` that it is none of the faults known here.

    `mistake` is what may have spoiled many readings at once, in words; `slipped` whether this very reading looks like a
    slip; `beside` how many other readings the answer rests on.
    """

    causes: tuple[Cause, ...]
    clear: float
    other: float
    suggestion: Suggestion | None
    check: object | None  # the guide's check that the suggestion names, if it is one
    slips: tuple[tuple[str, str, str], ...] = ()  # (title of the check, how likely in words, what kind of slip)
    mistake: str = ""
    slipped: bool = False
    beside: int = 0
    again: bool = False  # measured twice with the same outcome

    @property
    def fits(self) -> bool:
        """Do the readings, taken together, fit a good kit?"""
        return self.clear > 0.5


def observations(build: Build) -> list[Observation]:
    """Where the build stands on each check, at the guide's mains, and what was measured beside the guide."""
    rows = build.statuses.select_related("latest", "check_row__stage")
    carried = carried_by_build([build]).get(build.pk, [])
    again = repeated([build])
    own = [
        observation_of(s.check_row, s.latest, (build.pk, s.check_row_id) in again)
        for s in rows
        if s.latest.at_reference is not None or s.latest.over_range
    ]
    return [*carried, *own, *extras.observed(build)]


def carried_by_build(builds) -> dict[int, list[Observation]]:
    """Build id -> the readings that came along from an earlier revision. One query."""
    found: dict[int, list[Observation]] = {}
    along = Carried.objects.filter(build__in=builds, reading__at_reference__isnull=False)
    for c in along.select_related("reading", "check_row__stage"):
        found.setdefault(c.build_id, []).append(observation_of(c.check_row, c.reading))
    return found


def observation_of(check, reading, again: bool = False) -> Observation:
    """A reading of a check, at the guide's mains; what is over range is at least so much."""
    name = f"{check.stage.key}/{check.key}"
    return Observation(
        name,
        None if reading.over_range else reading.at_reference,
        0.0 if reading.over_range else reading.u,
        again,
        reading.outcome == Outcome.SWITCH_OFF.value,
    )


def priors_for(kit, prepared: Prepared) -> dict[str, float] | None:
    """The kit's fault weights as its confirmed causes have made them; None where nothing is confirmed."""
    known = {fault.key for fault in prepared.faults}
    keys = [
        key
        for key in ConfirmedFault.objects.filter(build__revision__kit=kit, taken_back_at=None).values_list(
            "fault", flat=True
        )
        if key in known
    ]
    return updated_priors(prepared.faults, keys) if keys else None


def ranking_of(build: Build, prepared: Prepared, seen=None) -> Ranking:
    return rank(prepared, observations(build) if seen is None else seen, priors_for(build.revision.kit, prepared))


def diagnose(build: Build, check, facts: Facts | None = None) -> Diagnosis | None:
    """What a reading of `check` that is off may come from; None while the kit's fault dictionary is not there, and for
    a check of which the circuit knows nothing, such as a part measured by itself.

    While a stop stands on the build there are causes only: no slip, nothing clear, nothing to measure again.
    """
    prepared = load_fault_dictionary(build.revision)
    name = f"{check.stage.key}/{check.key}"
    if prepared is None or name not in prepared.index:
        return None
    seen, facts = observations(build), facts or facts_of(build)
    stopped, ranking = is_stopped(facts), ranking_of(build, prepared, seen)
    if stopped:
        ranking = ranking.given_a_fault()
    guide, fits = load_guide(build.revision), ranking.clear > 0.5
    causes = causes_of(ranking, prepared, name, guide)
    allowed = allowed_measurements(build, check, facts)
    # A reading that does not fit the others is taken again before any other is asked for.
    suggestion = None if fits else next_reading(prepared, ranking, {o.place for o in seen}, allowed)
    named = suggestion and suggestion.place.check and _check(guide, suggestion.place)
    mistake = ranking.mistake.words if ranking.mistake and ranking.mistake.probability > 0.5 else ""
    return Diagnosis(
        causes,
        ranking.clear,
        ranking.other,
        suggestion,
        named or None,
        _slips(guide, ranking),
        mistake,
        any(slip.place == name for slip in ranking.slips),
        sum(o.place != name for o in seen),
        not stopped and any(o.place == name and o.repeated for o in seen),
    )


def causes_of(ranking: Ranking, prepared: Prepared, name: str, guide, least: float = LEAST) -> tuple[Cause, ...]:
    """The likeliest causes, with what the check of this name would read under each."""
    return tuple(
        _cause(group, prepared, prepared.index[name], guide)
        for group in ranking.groups[:MOST]
        if group.probability >= least
    )


def _check(guide, place):
    return next((c for s in guide.stages if s.key == place.stage for c in s.checks.all() if c.key == place.check), None)


def _slips(guide, ranking) -> tuple:
    titles = {f"{s.key}/{c.key}": c.title for s in guide.stages for c in s.checks.all()}
    return tuple(
        (titles[slip.place], _weight(slip.probability), slip.words)
        for slip in ranking.slips[:2]
        if slip.place in titles and slip.probability >= LEAST_SLIP
    )


def _weight(probability: float) -> str:
    return next(words for least, words in WORDS if probability >= least)


def _cause(group, prepared: Prepared, place: int, guide) -> Cause:
    fault = group.faults[0]
    return Cause(
        fault,
        group.faults[1:4],
        group.probability,
        _weight(group.probability),
        _would_read(prepared, fault, place),
        step_of(guide, fault.refs),
    )


def _would_read(prepared: Prepared, fault, place: int) -> str:
    """What the check would read under a fault; empty when it would read as in a healthy kit."""
    row = [f.key for f in prepared.faults].index(fault.key) + 1
    mean, healthy = prepared.mean[row, place], prepared.mean[0, place]
    if isnan(mean) or abs(mean - healthy) < 2 * sqrt(prepared.cov[0, place, place]):
        return ""
    value = float(sinh(mean) * prepared.units[place])
    unit = UNITS[prepared.places[place].probe.measure]
    if unit == "Ω" and to_scale(value, prepared.units[place]) >= to_scale(2e7, prepared.units[place]):
        return "over range"
    return f"about {format_quantity(value, unit, 2)}"


def step_of(guide, refs):
    """(stage, step) in which the first of these parts is fitted: of the steps that name it the one that names the
    fewest, since parts are sorted by the bagful and fitted a few at a time. What stays out for some stages goes in with
    the one after: (stage, None).
    """
    for ref in refs:
        out = [n for n, stage in enumerate(guide.stages) if ref in stage.not_fitted]
        if out and out[-1] + 1 < len(guide.stages):
            return guide.stages[out[-1] + 1], None
        naming = [
            (len(step.parts), stage, step) for stage in guide.stages for step in stage.steps.all() if ref in step.parts
        ]
        if naming:
            return min(naming, key=lambda found: found[0])[1:]
    return None
