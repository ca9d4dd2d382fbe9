"""What may not be done yet: hands in while power is on record, a step before the checks that the guide puts first."""

from dataclasses import dataclass
from enum import StrEnum

from builds.bench.gates.facts import Facts
from builds.bench.gates.gating import Power
from builds.guides.models import Check, Stage, Step


class Reason(StrEnum):
    POWER = "power"  # the kit has had power since it was last made safe
    CHECK = "check"  # a check that the guide puts before this step has not passed


@dataclass(frozen=True)
class Lock:
    reason: Reason
    check: Check | None = None

    @property
    def is_power(self) -> bool:
        return self.reason is Reason.POWER


def has_passed(check: Check, facts: Facts) -> bool:
    status = facts.check_states.get(check.pk)
    return status.passed if status is not None else check.pk in facts.carried


def lock_of(step: Step, stage: Stage, facts: Facts, power: Power) -> Lock | None:
    """Why a step may not be ticked now; None when it may. Taking a tick back is always allowed."""
    if step.hands_in and (power.needs_made_safe or power.stop_unanswered):
        return Lock(Reason.POWER)
    for item in stage.items:
        if item == step:
            return None
        if item.is_check and not item.optional and not has_passed(item, facts):
            return Lock(Reason.CHECK, item)
    return None


@dataclass(frozen=True)
class StepFirst:
    """A step that puts hands in, before a check, which is not ticked yet: the check reads nothing of the guide's."""

    step: Step
    number: int


def lock_of_check(check: Check, stage: Stage, facts: Facts) -> StepFirst | None:
    """Valves fitted without a made-safe reading would be read here: the step that fits them is ticked first."""
    number = 0
    for item in stage.items:
        if item == check:
            return None
        if item.is_check:
            continue
        number += 1
        if item.hands_in and item.pk not in facts.ticked:
            return StepFirst(item, number)
    return None
