"""Which stages are open, which are shut, and why. One query; the rest is plain Python."""

from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property

from django.db import transaction
from django.utils.translation import get_language

from builds.bench.gates.facts import Facts, load_facts
from builds.bench.models import Build, CheckStatus, Concession
from builds.guides.guide_cache import load_guide
from builds.guides.guide_texts import load_guide_in
from builds.guides.models import Check, Stage
from builds.ui.messages import bench as texts
from checks.outcomes import Outcome

STOP = Outcome.SWITCH_OFF.value
OUT = (STOP, Outcome.OUT_OF_BAND.value)


@dataclass(frozen=True)
class Power:
    """When this build last had power, when it was last made safe, and the check whose stop stands, if any."""

    last_live: datetime | None
    last_safe: datetime | None
    stop_check: int | None = None
    stopped_at: datetime | None = None

    @cached_property
    def needs_made_safe(self) -> bool:
        """True after power until a made-safe reading is logged: no hands in before that."""
        return self.last_live is not None and (self.last_safe is None or self.last_safe < self.last_live)

    @cached_property
    def stop_unanswered(self) -> bool:
        return self.stopped_at is not None and (self.last_safe is None or self.last_safe < self.stopped_at)


@dataclass(frozen=True)
class Reason:
    """Why a stage is shut, as str() in the reader's language: most are never read."""

    code: str  # halt, gate, stop or power
    halt: str = ""
    title: str = ""
    missing: tuple[int, int, int] = (0, 0, 0)  # of the gate before it: steps, checks, photos

    def __str__(self):
        if self.code == "halt":
            return texts.halt_reason(self.halt)
        if self.code == "gate":
            return texts.gate_reason(self.title, texts.remaining_label(*self.missing))
        return texts.stop_reason() if self.code == "stop" else texts.power_reason()


@dataclass
class StageState:
    """What of a stage is done. `checks` and `passed` count the checks it asks for; an optional one that was read and is
    off holds the stage up too (`optional_off`). `new_reasons` are the reasons that no stage before it gave already."""

    stage: Stage
    steps: int = 0
    ticked: int = 0
    checks: int = 0
    passed: int = 0
    optional_off: int = 0
    out: int = 0  # checks whose latest reading is out of band or said switch off
    has_stop: bool = False  # one of its readings was past its stop limit, and has not read well since
    conceded: int = 0  # those of them that the designer lets pass
    close: int = 0  # checks whose latest reading is too close to call
    photos_wanted: int = 0
    state: str = "open"  # shut, open or done
    reasons: list["Reason"] = field(default_factory=list)
    new_reasons: list["Reason"] = field(default_factory=list)
    shut_by: "StageState | None" = None  # the gate before it that is not passed
    waits_for_safe: bool = False  # a made-safe reading is all that is missing

    @cached_property
    def complete(self) -> bool:
        """Asked once the counts are in."""
        return self.ticked >= self.steps and not self.checks_left and not self.photos_wanted

    @property
    def checks_left(self) -> int:
        return self.checks - self.passed + self.optional_off

    @property
    def out_label(self) -> str:
        """The checks that are out of band: "1 out of band, conceded"; empty when none is."""
        return texts.out_label(self.out, self.conceded)

    @property
    def progress_label(self) -> str:
        return texts.progress_label(self.ticked, self.steps, self.passed, self.checks)

    @property
    def remaining_label(self) -> str:
        return texts.remaining_label(*self.missing)

    @property
    def missing(self) -> tuple[int, int, int]:
        """Steps, checks and photos that are still to be done."""
        return self.steps - self.ticked, self.checks - self.passed + self.optional_off, self.photos_wanted

    @property
    def is_open(self) -> bool:
        return self.state == "open"

    @property
    def is_done(self) -> bool:
        return self.state == "done"

    @property
    def is_shut(self) -> bool:
        return self.state == "shut"

    @property
    def finished(self) -> int:
        return self.ticked + self.passed

    @property
    def total(self) -> int:
        return max(1, self.steps + self.checks)


def find_power(build: Build, facts: Facts | None = None) -> Power:
    """What power did to this build, from its readings on powered stages, its sittings and its made-safe readings. One
    that found the reservoir charged counts as power, whatever was on record before."""
    return power_by(facts or load_facts(build), load_guide(build.revision).powered)


def power_by(facts: Facts, powered: frozenset[int]) -> Power:
    """The same from what is at hand; `powered`: the guide's checks that are read with the power on."""
    live = [*facts.stops.values(), *filter(None, (facts.last_power, facts.last_unsafe))]
    for check, state in facts.check_states.items():
        if check in powered:
            live.append(state.at)
    last_live = max(live, default=None)
    if not facts.stops:
        return Power(last_live, facts.last_safe)
    stopped_at, stop_check = max((at, check) for check, at in facts.stops.items())
    return Power(last_live, facts.last_safe, stop_check, stopped_at)


def stage_states(build: Build, facts: Facts | None = None, power: Power | None = None) -> list[StageState]:
    """The state of every stage of a build, in order. One query, however long the guide; none with `facts` at hand."""
    facts = facts or load_facts(build)
    power = power or find_power(build, facts)
    states = _judged(guide_stages(build), facts, power)
    earlier = set()
    for state in states:
        if state.reasons:
            state.new_reasons = [reason for reason in state.reasons if reason not in earlier]
            earlier.update(state.reasons)
    return states


def state_among(stages: tuple[Stage, ...], stage: Stage, facts: Facts, power: Power) -> StageState:
    """The state of one of a guide's stages, without `new_reasons`: those after it have no say in it."""
    return _judged(stages[: stages.index(stage) + 1], facts, power)[-1]


def _judged(stages: tuple[Stage, ...], facts: Facts, power: Power) -> list[StageState]:
    states: list[StageState] = []
    shut_by = None
    for stage in stages:
        state = state_in(stage, facts)
        _judge(state, shut_by, power, facts.halts.get(stage.pk, ""))
        if stage.gate and shut_by is None and not state.complete:
            shut_by = state
        states.append(state)
    return states


def state_in(stage: Stage, facts: Facts) -> StageState:
    """What of one stage is done, without the stages before it."""
    state = StageState(stage)
    for step in stage.steps.all():
        state.steps += 1
        state.ticked += step.pk in facts.ticked
        state.photos_wanted += step.photo == step.Photo.REQUIRED and step.pk not in facts.photographed
    for check in stage.checks.all():
        status = facts.check_states.get(check.pk)
        state.has_stop |= check.pk in facts.stops
        passed = status.passed if status is not None else check.pk in facts.carried
        if not check.optional:
            state.checks += 1
            state.passed += passed
        elif status is not None and not passed:
            state.optional_off += 1
        if status is not None and status.outcome in OUT:
            state.out += 1
            state.conceded += status.passed
        state.close += status is not None and status.outcome == Outcome.TOO_CLOSE.value
    return state


def _judge(state: StageState, shut_by: StageState | None, power: Power, halt: str = "") -> None:
    if halt:
        state.reasons.append(Reason("halt", halt))
    if shut_by is not None:
        state.shut_by = shut_by
        state.reasons.append(Reason("gate", title=shut_by.stage.title, missing=shut_by.missing))
    if power.stop_unanswered:
        state.reasons.append(Reason("stop"))
    elif power.needs_made_safe and not state.stage.is_powered:
        state.waits_for_safe = not state.reasons and not state.complete
        state.reasons.append(Reason("power"))
    if state.complete and not power.stop_unanswered and shut_by is None and not halt:
        state.state, state.reasons = "done", []  # nothing is left to put a hand to
    elif state.reasons:
        state.state = "shut"


def guide_stages(build: Build) -> tuple[Stage, ...]:
    """The stages of a build's guide, with steps and checks at hand, in the language of whoever reads."""
    return load_guide_in(build.revision, get_language()).stages


def refresh_status(build: Build, check: Check) -> CheckStatus | None:
    """Work a status's `passed` out again, after a concession was given or taken back."""
    from builds.bench.readings.passing import is_confirmed, passes

    status = CheckStatus.objects.filter(build=build, check_row=check).select_related("latest").first()
    if status is None:
        return None
    conceded, was_outdated = Concession.objects.filter(build=build, check_row=check).exists(), status.is_outdated
    earlier = build.readings.filter(check_row=check, attempt=status.latest.attempt - 1).first()
    status.passed = passes(
        status.latest,
        confirmed=is_confirmed(status.latest, earlier),
        conceded=conceded,
    )
    status.passed = status.passed and (conceded or not was_outdated)
    status.stop = None if status.passed else _standing_stop(build, check)
    status.save(update_fields=["passed", "stop"])
    return status


def _standing_stop(build: Build, check: Check):
    """The reading that said switch off, where none after it is in band."""
    last = build.readings.filter(check_row=check, outcome__in=(STOP, Outcome.IN_BAND)).order_by("attempt").last()
    return last if last is not None and last.is_stop else None


@transaction.atomic
def concede(build: Build, check: Check, *, by, reason: str, at=None) -> Concession:
    """The designer's written leave to pass. Does not pass a reading that said switch off."""
    made, _new = Concession.objects.update_or_create(
        build=build, check_row=check, defaults={"by": by, "reason": reason, "at": load_facts(build).dated(at)}
    )
    refresh_status(build, check)
    return made
