"""The lines of a stage page: its steps and checks in the guide's one order."""

from dataclasses import dataclass

from builds.bench import errata
from builds.bench.gates import gating, locks
from builds.bench.gates.locks import Lock
from builds.bench.models import CheckStatus
from builds.guides.models import Check, Step


@dataclass(frozen=True)
class StepLine:
    """A step, folded to a line once it is done. `lock`: why it may not be ticked now."""

    step: Step
    number: int
    ticked: bool
    photos: list
    errata: list
    lock: Lock | None = None

    is_check = False

    @property
    def done(self) -> bool:
        return self.ticked and bool(self.photos or not self.step.photo_wanted)


@dataclass(frozen=True)
class CheckLine:
    """A check with where this build stands on it, or what it passed by under an earlier revision."""

    check: Check
    status: CheckStatus | None
    is_carried: bool
    is_corrected: bool

    is_check = True

    @property
    def figure(self) -> float | None:
        """The current of a check that is read as volts across a resistor; None where the typed figure says it."""
        return self.status.latest.true_value if self.check.through and self.status else None


def step_line(opened, step, number, photos, corrected) -> StepLine:
    """A step of an opened stage (`opened`: views.stage.OpenStage)."""
    ticked = step.pk in opened.facts.ticked
    power = opened.power or gating.find_power(opened.build, opened.facts)
    lock = None if ticked else locks.find_lock(step, opened.stage, opened.facts, power)
    return StepLine(step, number, ticked, photos, errata.errata_of_step(corrected, step), lock)


def list_lines(opened, photos: dict, statuses: dict, corrected) -> list[StepLine | CheckLine]:
    """Every step and check of an opened stage, in the order in which they are done."""
    numbers = {step.pk: n for n, step in enumerate(opened.stage.steps.all(), 1)}
    corrected_checks = {erratum.check_row_id for erratum in corrected}
    return [
        CheckLine(item, statuses.get(item.pk), item.pk in opened.facts.carried, item.pk in corrected_checks)
        if item.is_check
        else step_line(opened, item, numbers[item.pk], photos.get(item.pk, []), corrected)
        for item in opened.stage.items
    ]
