"""A stage: its cautions, steps to tick and checks to read."""

from dataclasses import dataclass

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST
from django_htmx.http import HttpResponseClientRefresh

from builds.accounts.access import signed_in
from builds.accounts.cautions import cautions_for
from builds.bench import access, errata
from builds.bench.forms import CautionsForm, PhotoForm
from builds.bench.gates import gating, sittings, stops
from builds.bench.gates.facts import Facts, facts_of
from builds.bench.models import Build, Sitting, StageVisit, Tick
from builds.bench.readings.derived import derived_of
from builds.bench.readings.mains import tap_share
from builds.bench.valves import fitting
from builds.guides.feeding import to_set
from builds.guides.guide_cache import load_guide
from builds.guides.models import Stage, Step
from checks.mains import line_words

HELD_BACK = "bench/shut.html"


@dataclass
class Open:
    """A stage someone asked for: where the build stands, and `answer`, the page to show instead when it may not be
    worked on."""

    build: Build
    stage: Stage
    facts: Facts
    state: gating.StageState | None = None
    sitting: Sitting | None = None
    answer: HttpResponse | None = None
    power: gating.Power | None = None


@dataclass(frozen=True)
class StepLine:
    """A step as the stage page shows it: folded to a line once it is done."""

    step: Step
    ticked: bool
    photos: list
    errata: list

    @property
    def done(self) -> bool:
        return self.ticked and bool(self.photos or not self.step.photo_wanted)


def stage_of(build, key):
    """A stage of the build's guide by its key. Raises Http404."""
    for stage in gating.guide_stages(build):
        if stage.key == key:
            return stage
    raise Http404("This guide has no such stage.")


def open_stage(request, build, key, facts=None) -> Open:
    """Whether a stage of this builder's own build may be worked on now. Two queries beside the build."""
    found = Open(build, stage_of(build, key), facts or facts_of(build))
    if build.given_up_at:  # ended, or moved to a later revision: its page says which
        found.answer = redirect("bench:build", build.pk)
        return found
    if build.finished_at and request.method == "POST":  # what was signed stays as it was signed
        found.answer = render(
            request,
            "bench/closed.html",
            {"build": build, "stage": found.stage, "typed": request.POST.get("typed", "")},
            status=409,
        )
        return found
    power = found.power = gating.power_of(build, found.facts)
    if power.stop_unanswered:
        found.answer = redirect("bench:stop", build.pk)
        return found
    found.state = next(s for s in gating.stage_states(build, found.facts) if s.stage.pk == found.stage.pk)
    if found.state.state == "shut":
        found.answer = render(
            request,
            HELD_BACK,
            {
                "build": build,
                "stage": found.stage,
                "state": found.state,
                "power": power,
                "typed": request.POST.get("typed", ""),
            },
            status=409,
        )
        return found
    if found.stage.pk in found.facts.errata:
        found.answer = redirect("bench:errata", build.pk, found.stage.key)
        return found
    found.sitting = sittings.current(build)
    if not sittings.ready_for(found.sitting, found.stage, found.facts):
        found.answer = redirect("bench:cautions", build.pk, found.stage.key)
    return found


@signed_in
@require_GET
def stage(request, pk, key):
    here = open_stage(request, access.own_build(request.user, pk), key)
    if here.answer:
        return here.answer
    build, row = here.build, here.stage
    sitting = sittings.keep_up(build, here.sitting)
    if row.pk not in here.facts.visits:
        StageVisit.objects.get_or_create(build=build, stage=row)
    photos = photos_by_step(build.photos.filter(stage=row, check_row=None, snag=None))
    statuses = {s.check_row_id: s for s in build.statuses.filter(check_row__stage=row).select_related("latest")}
    corrected = errata.standing(build, row)
    steps = [
        StepLine(step, step.pk in here.facts.ticked, photos.get(step.pk, []), errata.of_step(corrected, step))
        for step in row.steps.all()
    ]
    checks = [(check, statuses.get(check.pk)) for check in row.checks.all()]
    along = here.facts.carried
    stopped = stops.standing_stop(build, here.power)
    following = next(
        (check for check, standing in checks if not (standing.passed if standing else check.pk in along)), None
    )
    return render(
        request,
        "bench/stage.html",
        {
            "build": build,
            "stage": row,
            "state": here.state,
            "steps": steps,
            "checks": checks,
            "next_check": following,
            "stopped": stopped,
            "errata": errata.of_stage(corrected, row.steps.all()),
            "corrected_checks": {e.check_row_id for e in corrected},
            "next_step": next(((n, line.step) for n, line in enumerate(steps, 1) if not line.done), None),
            "photo_form": PhotoForm(),
            "stage_photos": photos.get(None, []),
            "cautions": cautions_for(row.cautions),
            "sitting": sitting,
            "to_set": to_set(row, tap_share(build), load_guide(build.revision).parts),
            "unnoted": fitting.unnoted(build, row),
            "carried": here.facts.carried,
            "derived": derived_of(load_guide(build.revision), checks) if row.is_powered else [],
            "parts": load_guide(build.revision).parts,
        },
    )


def photos_by_step(photos) -> dict:
    """Step id (None: the stage as a whole) -> its photos."""
    sorted_ = {}
    for photo in photos:
        sorted_.setdefault(photo.step_id, []).append(photo)
    return sorted_


@signed_in
@require_http_methods(["GET", "POST"])
def cautions(request, pk, key):
    build = access.own_build(request.user, pk)
    row = stage_of(build, key)
    state = gating.state_of(build, row)
    if state.state == "shut":
        return redirect("bench:stage", build.pk, row.key)
    form = CautionsForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        volts = form.cleaned_data["mains"]
        sittings.acknowledge(sittings.current_or_new(build), row, volts)
        odd = line_words(build.mains_volts, volts) if volts else ""
        if odd:
            messages.warning(request, odd)
        return redirect("bench:stage", build.pk, row.key)
    setting = to_set(row, tap_share(build), load_guide(build.revision).parts)
    return render(
        request,
        "bench/cautions.html",
        {"build": build, "stage": row, "form": form, "to_set": setting, "cautions": cautions_for(row.cautions)},
        status=422 if request.method == "POST" else 200,
    )


@signed_in
@require_POST
def tick(request, pk, key, step):
    """Tick a step, or take the tick back; posting the same wish twice changes nothing."""
    here = open_stage(request, access.own_build(request.user, pk), key)
    if here.answer:
        return here.answer
    build, row, found = here.build, here.stage, step_of(here.stage, step)
    done = request.POST.get("done") != "no"
    if done:
        Tick.objects.get_or_create(build=build, step=found)
    else:
        Tick.objects.filter(build=build, step=found).delete()
    here.facts = here.facts.with_tick(found.pk, done)
    complete = mark_done(here)
    if request.htmx and complete:
        return HttpResponseClientRefresh()  # the whole page has news: this stage is done
    if request.htmx:
        return render(
            request,
            "bench/_step.html",
            {
                "build": build,
                "stage": row,
                "step": found,
                "ticked": done,
                "photo_form": PhotoForm(),
                "errata": errata.of_step(errata.standing(build, row), found),
                "parts": load_guide(build.revision).parts,
                "photos": build.photos.filter(step=found),
                "number": request.POST.get("number", ""),
            },
        )
    return redirect(f"{row_url(build, row)}#step-{found.key}")


def step_of(stage, key):
    for found in stage.steps.all():
        if found.key == key:
            return found
    raise Http404("This stage has no such step.")


def row_url(build, row):
    return reverse("bench:stage", args=[build.pk, row.key])


def mark_done(here: Open) -> bool:
    """Note when everything in a stage was done (or that it no longer is); says which."""
    complete = gating.is_complete(here.stage, here.facts)
    if complete != here.facts.visits.get(here.stage.pk, False):
        StageVisit.objects.filter(build=here.build, stage=here.stage).update(
            done_at=timezone.now() if complete else None
        )
    return complete
