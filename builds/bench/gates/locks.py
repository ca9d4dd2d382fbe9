"""What may not be done yet: hands in while power is on record, a live reading while none is or while a stop stands, a
step before the checks that the guide puts first."""

from dataclasses import dataclass
from enum import StrEnum

from builds.bench.gates.facts import Facts
from builds.bench.gates.gating import Power
from builds.guides.models import Check, Stage, Step


class Reason(StrEnum):
    POWER = "power"  # the kit has had power since it was last made safe
    CHECK = "check"  # a check that the guide puts before this step has not passed
    UNSAID = "unsaid"  # made safe in a powered stage: is the power on again for this step?


@dataclass(frozen=True)
class Lock:
    reason: Reason
    check: Check | None = None

    @property
    def is_power(self) -> bool:
        return self.reason is Reason.POWER

    @property
    def is_unsaid(self) -> bool:
        return self.reason is Reason.UNSAID


def has_passed(check: Check, facts: Facts) -> bool:
    status = facts.check_states.get(check.pk)
    return status.passed if status is not None else check.pk in facts.carried


def find_lock(step: Step, stage: Stage, facts: Facts, power: Power) -> Lock | None:
    """Why a step may not be ticked now; None when it may. Taking a tick back is always allowed."""
    if step.hands_in and (power.needs_made_safe or power.stop_unanswered):
        return Lock(Reason.POWER)
    for item in stage.items:
        if item == step:
            return None
        if isinstance(item, Check) and not item.optional and not has_passed(item, facts):
            return Lock(Reason.CHECK, item)
    return None


def asks_power(step: Step, stage: Stage, power: Power) -> Lock | None:
    """A step of live work after made safe may be the one that switches on: a tick of it alone would leave power off
    the record, and hands would follow. So the builder says which, before it is ticked."""
    return Lock(Reason.UNSAID) if stage.is_powered and not step.hands_in and not power.needs_made_safe else None


class CheckReason(StrEnum):
    STOP = "stop"  # a stop stands on another check, and this one is read with the power on
    STEP = "step"  # a step before it that puts hands in is not ticked: the check reads nothing of the guide's
    POWER = "power"  # it is read with the power on, and the kit was made safe since it last had power


@dataclass(frozen=True)
class CheckLock:
    """Why a check may not be read now. `step` and its `number` where a step comes first."""

    reason: CheckReason
    step: Step | None = None
    number: int = 0

    @property
    def is_stop(self) -> bool:
        return self.reason is CheckReason.STOP

    @property
    def is_power(self) -> bool:
        return self.reason is CheckReason.POWER


def lock_of_check(check: Check, stage: Stage, facts: Facts, power: Power) -> CheckLock | None:
    if stage.is_powered and is_stopped_elsewhere(check, facts):
        return CheckLock(CheckReason.STOP)
    first = _step_first(check, stage, facts)
    if first:
        return first
    if stage.is_powered and not power.needs_made_safe:
        return CheckLock(CheckReason.POWER)
    return None


def is_stopped_elsewhere(check: Check | None, facts: Facts) -> bool:
    """Does a stop stand on the build, and not on this check?"""
    return bool(facts.stops) and (check is None or check.pk not in facts.stops)


def _step_first(check: Check, stage: Stage, facts: Facts) -> CheckLock | None:
    """Valves fitted without a made-safe reading would be read here: the step that fits them is ticked first."""
    number = 0
    for item in stage.items:
        if item == check:
            return None
        if isinstance(item, Check):
            continue
        number += 1
        if item.hands_in and item.pk not in facts.ticked:
            return CheckLock(CheckReason.STEP, item, number)
    return None
