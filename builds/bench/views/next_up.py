"""What comes next at the bench: the one step, reading or stage that a builder is led to."""

from dataclasses import dataclass

from django.urls import reverse

from builds.bench.diagnosis.overloads import overloaded
from builds.bench.gates import gating, locks
from builds.bench.gates.facts import Facts
from builds.bench.models import Build
from builds.guides.models import Check, Stage
from builds.ui.messages import bench as texts


@dataclass(frozen=True)
class NextUp:
    """Where to go and what the button says. `line`: the row of the stage page it leads to, by its id there."""

    label: str
    url: str
    line: str = ""
    is_live: bool = False  # the kit must be made safe before anything else


def is_done(item, facts: Facts) -> bool:
    """A check that passed, or a step that is ticked and has the photo it must have."""
    if item.is_check:
        return locks.has_passed(item, facts)
    return item.pk in facts.ticked and not needs_photo(item, facts)


def needs_photo(step, facts: Facts) -> bool:
    return step.photo_wanted and step.pk not in facts.photographed


def in_stage(build: Build, stage: Stage, facts: Facts, after=None, power=None) -> NextUp | None:
    """The first thing not done of a stage: from `after` on if there is any, else from the start. None: all is done."""
    items = stage.items
    start = items.index(after) + 1 if after in items else 0
    for item in (*items[start:], *items[:start]):
        skipped = isinstance(item, Check) and item.optional and item.pk not in facts.check_states
        if not skipped and not is_done(item, facts):
            return _lead_to(build, stage, facts, item, power)
    return None


def _lead_to(build, stage, facts, item, power) -> NextUp:
    if item.is_check:
        return NextUp(texts.next_check(item.title), reverse("bench:check", args=[build.pk, stage.key, item.key]))
    number = list(stage.steps.all()).index(item) + 1
    url = f"{reverse('bench:stage', args=[build.pk, stage.key])}#step-{item.key}"
    if item.pk in facts.ticked:
        return NextUp(texts.next_photo(number), url, f"step-{item.key}")
    lock = locks.find_lock(item, stage, facts, power or gating.find_power(build, facts))
    if lock and lock.is_power:
        return NextUp(texts.next_make_safe(number), make_safe_url(build, stage, item), f"step-{item.key}", is_live=True)
    return NextUp(texts.next_step(number), url, f"step-{item.key}")


def _find_cause(build: Build, stage: Stage, check, power: gating.Power) -> NextUp:
    if power.needs_made_safe:
        return NextUp(texts.next_switch_off(), make_safe_url(build, stage), is_live=True)
    address = reverse("bench:check", args=[build.pk, check.stage.key, check.key])
    return NextUp(texts.next_causes(check.title), f"{address}#verdict")


def make_safe_url(build: Build, stage: Stage, step=None) -> str:
    """Make safe, and back to where the builder was."""
    back = f"{stage.key}/{step.key}" if step else stage.key
    return f"{reverse('bench:make-safe', args=[build.pk])}?back={back}"


def after_stage(build: Build, facts: Facts, power=None) -> NextUp:
    """The stage to go on with, once one is done."""
    states = gating.stage_states(build, facts, power)
    following = next((s for s in states if s.state == "open" or s.waits_for_safe), None)
    if following is None:
        label = texts.sign_off() if all(s.complete for s in states) else texts.back_to_build()
        return NextUp(label, reverse("bench:build", args=[build.pk]))
    stage = following.stage
    if following.waits_for_safe:
        return NextUp(texts.make_safe_then(stage.title), make_safe_url(build, stage), is_live=True)
    return NextUp(texts.next_stage(stage.title), reverse("bench:stage", args=[build.pk, stage.key]))


def next_up(build: Build, stage: Stage, facts: Facts, after=None, power=None) -> NextUp:
    """The next step or reading of this stage, or the next stage. While a reading may mean an overload, nothing live is
    next: first the power off, then its cause. `power`: the build's, if at hand."""
    return next_but_for(overloaded(build, facts), build, stage, facts, after, power)


def next_but_for(overload, build: Build, stage: Stage, facts: Facts, after=None, power=None) -> NextUp:
    """As `next_up`, for a caller that has asked for the `overload` already."""
    if overload:
        return _find_cause(build, stage, overload.check_row, power or gating.find_power(build, facts))
    if build.finished_at or build.given_up_at:  # its record is closed: nothing is next
        return NextUp(texts.back_to_build(), reverse("bench:build", args=[build.pk]))
    return in_stage(build, stage, facts, after, power) or after_stage(build, facts, power)
