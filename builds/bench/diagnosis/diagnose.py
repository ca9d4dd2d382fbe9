"""What is probably wrong with a build, from its readings so far, and which reading would tell more."""

from dataclasses import dataclass

from builds.bench.diagnosis.allowed_measurements import allowed_measurements, is_stopped
from builds.bench.diagnosis.causes import Cause, list_causes, priors_for
from builds.bench.diagnosis.centres import list_centres, list_corrections
from builds.bench.diagnosis.observations import make_name, observations
from builds.bench.gates.facts import Facts, load_facts
from builds.bench.models import Build
from builds.guides.circuit.fault_dictionary import load_fault_dictionary
from builds.guides.guide_cache import load_guide
from checks.diagnosis import Prepared, Ranking, Suggestion, next_reading, rank
from checks.diagnosis.advice import AdviceCode, Sentence
from checks.diagnosis.centring import correct_for_load
from checks.diagnosis.codes import Likelihood
from checks.diagnosis.common_mistakes import MistakeKind
from checks.diagnosis.likelihood import METER_OHMS
from checks.diagnosis.slips import Slip

LEAST_SLIP = 0.15
WORTH_SHOWING = 0.3  # of something else


@dataclass(frozen=True)
class Diagnosis:
    """`clear` is the probability that everything but a slip is right; `other` that it is none of the faults known here.

    `mistake` is what may have spoiled many readings at once; `slips` the readings that look like one, with their
    checks' titles; `slip` this very reading's; `supporting` how many other readings the answer rests on; `again` that
    it was measured twice with the same outcome.
    """

    causes: tuple[Cause, ...]
    clear: float
    fits: bool  # the readings, taken together, fit a good kit
    other: float
    suggestion: Suggestion | None
    check: object | None  # the guide's check that the suggestion names, if it is one
    slips: tuple[tuple[str, Slip], ...] = ()
    mistake: MistakeKind | None = None
    slip: Slip | None = None
    supporting: int = 0
    again: bool = False

    def opinions(self) -> tuple[Sentence, ...]:
        """What the readings together say, the strongest first."""
        return tuple(self._opinions())

    def _opinions(self):
        if self.mistake:
            yield Sentence(AdviceCode.ONE_MISTAKE, {"mistake": self.mistake})
        elif self.fits and self.again:
            yield Sentence(AdviceCode.SAME_TWICE)
        elif self.fits and self.slip:
            kind = {"kind": self.slip.kind, "pin": self.slip.pin}
            yield Sentence(AdviceCode.MEASURING_ERROR, {"supporting": self.supporting, **kind})
        elif self.fits:
            yield Sentence(AdviceCode.FITS_GOOD_KIT, {"supporting": self.supporting})
        if self.causes:
            first = self.causes[0]
            if first.others:
                places = tuple(place[0] for place in (first.at, *first.others))
                yield Sentence(AdviceCode.LIKELY_CAUSES, {"faults": places})
            else:
                yield Sentence(AdviceCode.LIKELY_CAUSE, {"fault": first.fault})
        elif not self.fits:
            yield Sentence(AdviceCode.NO_KNOWN_FAULT)
        for title, slip in self.slips:
            params = {"title": title, "likelihood": Likelihood.of(slip.probability)}
            yield Sentence(AdviceCode.OTHER_READING, {**params, "kind": slip.kind, "pin": slip.pin})
        if self.causes and self.other > WORTH_SHOWING:
            yield Sentence(AdviceCode.MAYBE_TWO_FAULTS)


def diagnose(build: Build, check, facts: Facts | None = None) -> Diagnosis | None:
    """What a reading of `check` that is off may come from; None while the kit's fault dictionary is not there, and for
    a check of which the circuit knows nothing, such as a part measured by itself.

    While a stop stands on the build there are causes only: no slip, nothing clear, nothing to measure again.
    """
    prepared, name = load_fault_dictionary(build.revision), make_name(check)
    if prepared is None or name not in prepared.index:
        return None
    seen, facts = observations(build), facts or load_facts(build)
    stopped = is_stopped(facts)
    ranking = compute_ranking(build, prepared, seen)
    ranking = ranking.condition_on_fault() if stopped else ranking
    guide, allowed = load_guide(build.revision), allowed_measurements(build, check, facts)
    prepared = correct_for_load(prepared, list_corrections(build.revision))
    # A reading that does not fit the others is taken again before any other is asked for.
    ask = not ranking.fits_good_kit
    suggestion = next_reading(prepared, ranking, {o.place for o in seen}, allowed) if ask else None
    return Diagnosis(
        list_causes(ranking, prepared, name, guide),
        ranking.clear,
        ranking.fits_good_kit,
        ranking.other,
        suggestion,
        suggestion and suggestion.place.check and _check(guide, suggestion.place) or None,
        _slips_elsewhere(guide, ranking, name),
        ranking.sure_mistake,
        next((slip for slip in ranking.slips if slip.place == name), None),
        sum(o.place != name for o in seen),
        not stopped and any(o.place == name and o.repeated for o in seen),
    )


def compute_ranking(build: Build, prepared: Prepared, seen=None) -> Ranking:
    """What a build's readings (or those of `seen`) point to, through its builder's meter, about what good kits read."""
    return rank(
        prepared,
        observations(build) if seen is None else seen,
        priors_for(build.revision.kit, prepared),
        meter_ohms=find_meter_ohms(build),
        centres=list_centres(build.revision, prepared),
        corrected=list_corrections(build.revision),
    )


def find_meter_ohms(build: Build) -> float | None:
    """Input resistance of the builder's meter, None where nobody knows it. Of a pointer's, which goes with the range,
    what most meters have: each of its readings says its own."""
    spec = build.meter.as_spec() if build.meter else None
    return (spec.input_ohms or METER_OHMS) if spec else None


def _check(guide, place):
    return next((c for s in guide.stages if s.key == place.stage for c in s.checks.all() if c.key == place.check), None)


def _slips_elsewhere(guide, ranking: Ranking, name: str) -> tuple[tuple[str, Slip], ...]:
    titles = {make_name(check): check.title for stage in guide.stages for check in stage.checks.all()}
    return tuple(
        (titles[slip.place], slip)
        for slip in ranking.slips[:2]
        if slip.place in titles and slip.place != name and slip.probability >= LEAST_SLIP
    )
