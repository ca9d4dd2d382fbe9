"""The fast track: a builder who has built before ticks the steps of a stage together, beside its readings in a table.

Nothing is skipped: every step goes through the locks of a single tick, in the guide's order, and a stage that is shut,
stopped or wants its cautions is so here too. A step that a lock holds back stays unticked, and its reason is shown.
"""

from django.contrib import messages
from django.db import transaction
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from builds.accounts.access import signed_in
from builds.bench import access
from builds.bench.gates import locks
from builds.bench.models import StageVisit, Tick
from builds.bench.views.stage import OpenStage, mark_done, open_stage


@signed_in
@require_POST
def fast_track(request, pk):
    """Turn the build's own switch on or off."""
    build = access.own_build(request.user, pk)
    build.fast_track = request.POST.get("on") == "yes"
    build.save(update_fields=["fast_track"])
    if build.fast_track:
        messages.success(request, _("Fast track is on. The designer can see this."))
    else:
        messages.success(request, _("Fast track is off."))
    return redirect("bench:build", build.pk)


@signed_in
@require_POST
def tick_steps(request, pk, key):
    """Tick the chosen steps of a stage, each under its own locks."""
    chosen = set(request.POST.getlist("step"))
    with transaction.atomic():  # a reading posted at the same moment takes its turn
        build = access.locked_build(request.user, pk)
        if not build.fast_track:
            messages.error(
                request, _("Fast track is off for this build. Tick the steps one by one on the stage’s page.")
            )
            return redirect("bench:stage", build.pk, key)
        opened = open_stage(request, build, key)
        if opened.answer:
            return opened.answer
        held = _tick(opened, chosen)
        if opened.stage.pk not in opened.facts.visits:
            StageVisit.objects.get_or_create(build=build, stage=opened.stage)
        mark_done(opened)
    _report_ticks(request, opened, chosen, held)
    return redirect("bench:grid", build.pk, key)


def _tick(opened: OpenStage, chosen: set[str]) -> list[tuple]:
    """The steps that a lock held back, each with its lock. Nobody says here that the power is off: such a step is
    ticked by itself."""
    held, stage = [], opened.stage
    for step in stage.steps.all():
        if step.key not in chosen or step.pk in opened.facts.ticked:
            continue
        lock = locks.find_lock(step, stage, opened.facts, opened.power) or locks.asks_power(step, stage, opened.power)
        if lock:
            held.append((step, lock))
        else:
            Tick.objects.get_or_create(build=opened.build, step=step)
            opened.facts = opened.facts.with_tick(step.pk, True)
    return held


def _report_ticks(request, opened: OpenStage, chosen: set[str], held: list[tuple]) -> None:
    steps = [step for step in opened.stage.steps.all() if step.key in chosen]
    done = len(steps) - len(held)
    if done:
        messages.success(request, ngettext("%(n)d step ticked.", "%(n)d steps ticked.", done) % {"n": done})
    numbers = {step.pk: n for n, step in enumerate(opened.stage.steps.all(), 1)}
    for step, lock in held:
        messages.error(request, _why_held_back(numbers[step.pk], lock))


def _why_held_back(number: int, lock: locks.Lock) -> str:
    if lock.is_power:
        return _(
            "Step %(n)d was not ticked. Make the kit safe first: this step puts your hands inside, and the kit has "
            "had power."
        ) % {"n": number}
    if lock.is_unsaid:
        return _("Step %(n)d was not ticked. Tick it on the stage’s page, which asks whether the power is on.") % {
            "n": number
        }
    return _("Step %(n)d was not ticked. The check “%(check)s” must pass first.") % {
        "n": number,
        "check": lock.check.title if lock.check else "",
    }
