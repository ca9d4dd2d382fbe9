"""What a build keeps and what it does again under a later revision of its guide, and the move itself."""

from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.utils import timezone

from builds.bench.gates import gating
from builds.bench.gates.facts import load_facts
from builds.bench.models import Build, Carried, Move, MoveOffer, PartSwap
from builds.bench.readings.judged_again import as_it_was_read
from builds.bench.readings.mains import refuse_unserved
from builds.bench.valves import fitting, own_valves
from builds.bench.valves.own_valves import not_permitted
from builds.guides.circuit.stored import find_figure
from builds.guides.guide_cache import load_guide
from builds.guides.models import Step
from builds.ui.messages import moves as texts
from builds.ui.messages.errors import message_for
from checks.errors import ChecksError
from checks.outcomes import Outcome

SAME = 0.01  # of a figure: what the circuit may say otherwise before a reading is taken again
READ_AS = ("measure", "red", "black", "through")  # what makes two checks the same reading
CONDITION = ("power", "not_fitted", "supply", "settings")
FITTED = ("kind", "value", "tolerance")


@dataclass(frozen=True)
class ToRedo:
    """Something to do again: its stage, its text, and why."""

    stage: object
    text: str
    why: str


@dataclass(frozen=True)
class Plan:
    """`steps` and `checks` come along; `again` is to be done; `parts` are to be swapped. No row is saved yet."""

    steps: tuple[Step, ...]
    checks: tuple[Carried, ...]
    again: tuple[ToRedo, ...]
    parts: tuple[PartSwap, ...]


def obstacle(build: Build, revision) -> str:
    """Why this build cannot move to `revision`; empty when it can."""
    if revision.kit_id != build.revision.kit_id or revision.is_draft or revision.pk == build.revision_id:
        return texts.other_kit()
    if (revision.issued_at, revision.pk) < (build.revision.issued_at, build.revision_id):
        return texts.earlier_revision()
    if build.finished_at or build.given_up_at:
        return texts.build_ended()
    if build.builder_id is None:
        return texts.no_builder()
    if Build.objects.filter(revision=revision, serial=build.serial).exists():
        return texts.serial_taken(revision.letter)
    power = gating.find_power(build)
    if power.stop_unanswered:
        return texts.stop_unanswered()
    if power.needs_made_safe:
        return texts.had_power()
    if other := not_permitted(build, revision):
        return texts.valves_not_permitted(other)
    if power.stop_check is not None:  # the new build would not know of it
        return texts.stop_is_active()
    try:
        refuse_unserved(revision, build.mains_volts)
    except ChecksError as error:
        return message_for(error)
    return ""


def make_plan(build: Build, revision) -> Plan:
    """What would come along, judged anew against the new bands, and what would be done again. Changes nothing."""
    old, new, facts = load_guide(build.revision), load_guide(revision), load_facts(build)
    parts = _parts(old, new)
    latest = {status.check_row_id: status.latest for status in build.statuses.select_related("latest")}
    steps, checks, again = [], [], []
    stages = {stage.key: stage for stage in old.stages}
    reached = {stage.key for stage in old.stages if _reached(stage, facts)}
    for stage in new.stages:
        before = stages.get(stage.key)
        for step in stage.steps.all():
            why = _step_again(step, before, facts, parts)
            steps += [step] if why == "" else []
            again += [ToRedo(stage, step.text, why)] if why and stage.key in reached else []
        for check in stage.checks.all():
            carried, why = _check_again(build, check, before, facts, latest, (old, new, parts))
            checks += [carried] if carried else []
            again += [ToRedo(stage, check.title, why)] if why and stage.key in reached else []
    return Plan(tuple(steps), tuple(checks), tuple(again), tuple(parts.values()))


def _reached(stage, facts) -> bool:
    return any(s.pk in facts.ticked for s in stage.steps.all()) or any(
        c.pk in facts.check_states for c in stage.checks.all()
    )


def _parts(old, new) -> dict[str, PartSwap]:
    """{ref: what to do, not saved yet} of parts whose kind, value, tolerance or wiring have changed."""
    to_do = {}
    for ref in [*old.parts, *(r for r in new.parts if r not in old.parts)]:
        a, b = old.parts.get(ref), new.parts.get(ref)
        action = _action(a, b)
        if action:
            to_do[ref] = PartSwap(ref=ref, action=action, params={"old": _listed(a), "new": _listed(b)})
    return to_do


def _action(old, new) -> str:
    """What to do with a part; empty where it is the same."""
    if old is None or new is None:
        return PartSwap.Action.FIT if old is None else PartSwap.Action.REMOVE
    if _listed(old) != _listed(new):
        return PartSwap.Action.CHANGE
    return PartSwap.Action.REWIRE if old.detail.get("joins") != new.detail.get("joins") else ""


def _listed(part) -> dict | None:
    return part and {**{key: getattr(part, key) for key in FITTED}, "type": part.detail.get("type", "")}


def _step_again(step, before, facts, parts) -> str | None:
    """Why a step is to be done (again); empty when its tick comes along, None when it was never reached."""
    twin = next((s for s in before.steps.all() if s.key == step.key), None) if before else None
    if twin is None:
        return texts.new_in_revision()
    if twin.pk not in facts.ticked:
        return None
    if twin.text != step.text:
        return texts.text_changed()
    changed = [ref for ref in step.parts if ref in parts]
    if changed:
        return texts.parts_changed(", ".join(changed))
    if step.photo == step.Photo.REQUIRED and twin.pk not in facts.photographed:
        return texts.photo_now_required()
    return ""


def _check_again(build, check, before, facts, latest, guides):
    """(Carried, None), not saved yet, for one that comes along, (None, why) for one to be taken (again), (None, None)
    never reached."""
    twin = next((c for c in before.checks.all() if c.key == check.key), None) if before else None
    if twin is None:
        return None, texts.new_in_revision()
    status, reading = facts.check_states.get(twin.pk), latest.get(twin.pk)
    if status is None or reading is None:
        return None, None
    if (
        any(getattr(twin, key) != getattr(check, key) for key in READ_AS)
        or any(getattr(before, key) != getattr(check.stage, key) for key in CONDITION)
        or _find_guide_mains(before.revision) != _find_guide_mains(check.stage.revision)
    ):
        return None, texts.measured_differently()
    if not status.passed:
        return None, texts.not_passed()
    if _moved(twin, check, *guides):
        return None, texts.part_affects_it()
    return _judged(build, check, reading)


def _find_guide_mains(revision) -> tuple:
    """What a guide's figures hold at: a reading at another mains is not judged by them."""
    return float(revision.mains_volts), sorted(map(float, revision.taps))


def _moved(twin, check, old, new, parts) -> bool:
    """Do the changed parts bear on this reading? The circuit says, where it can; otherwise every later stage is taken
    again."""
    if not parts:
        return False
    before, after = find_figure(twin), find_figure(check)
    if before and after:
        return abs(after["value"] - before["value"]) > SAME * max(abs(before["value"]), 1e-12)
    fitted = [
        stage.position for stage in new.stages for step in stage.steps.all() if any(ref in parts for ref in step.parts)
    ]
    return check.stage.position >= min(fitted, default=0)


def _judged(build, check, reading):
    try:
        verdict = as_it_was_read(build, check, reading).judged(reading.typed).verdict
    except ChecksError:
        return None, texts.cannot_be_judged()
    if verdict is None or verdict.outcome != Outcome.IN_BAND:
        return None, texts.outside_new_band(reading.typed)
    return Carried(check_row=check, reading=reading), None


@transaction.atomic
def move(offer: MoveOffer) -> Build:
    """Carry the offer out; a second call gives back the build of the first. Raises ValueError with a sentence where it
    cannot be."""
    old = Build.objects.select_for_update().get(pk=offer.build_id)
    done = Move.objects.filter(source=old).select_related("build").first()
    if done:
        return done.build
    why = obstacle(old, offer.revision)
    if why:
        raise ValueError(why)
    plan, now = make_plan(old, offer.revision), timezone.now()
    new = Build.objects.create(
        revision=offer.revision,
        serial=old.serial,
        builder=old.builder,
        meter=old.meter,
        mains_volts=old.mains_volts,
        mains_hertz=old.mains_hertz,
        fast_track=old.fast_track,
        started_at=now,
    )
    Move.objects.create(build=new, source=old)
    rows: list[Any] = [*plan.checks, *plan.parts]
    for row in rows:
        row.build = new
    Carried.objects.bulk_create(
        [
            *(Carried(build=new, step=step) for step in plan.steps),
            *plan.checks,
        ]
    )
    PartSwap.objects.bulk_create(plan.parts)
    fitting.carry_valves(old, new)
    own_valves.carry_tests(old, new)
    own_valves.settle_valves(new)
    Build.objects.filter(pk=old.pk).update(given_up_at=now)
    MoveOffer.objects.filter(pk=offer.pk).update(taken_at=now)
    return new


def left_to_redo(build: Build, source: Build) -> list[tuple]:
    """[(stage, words of what is still to be done again)] of a moved build, in the stages `source` had reached."""
    facts, guide = load_facts(build), load_guide(build.revision)
    before, done = load_guide(source.revision), load_facts(source)
    reached = {stage.key for stage in before.stages if _reached(stage, done)}
    rows = []
    for stage in guide.stages:
        if stage.key in reached:
            rows += [(stage, step.text) for step in stage.steps.all() if step.pk not in facts.ticked]
            rows += [
                (stage, check.title)
                for check in stage.checks.all()
                if check.pk not in facts.carried
                and not (check.pk in facts.check_states and facts.check_states[check.pk].passed)
                and not check.optional
            ]
    return rows
