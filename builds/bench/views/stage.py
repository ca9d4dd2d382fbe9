"""A stage: its cautions, steps to tick and checks to read."""
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST
from django_htmx.http import HttpResponseClientRefresh

from builds.accounts.access import signed_in
from builds.accounts.cautions import cautions_for
from builds.bench import access, gates, sittings
from builds.bench.forms import CautionsForm, PhotoForm
from builds.bench.models import StageVisit, Tick
from builds.bench.photos import save_photo
from builds.guides.models import Step
from checks.errors import ChecksError

HELD_BACK = "bench/shut.html"


def stage_of(build, key):
    """A stage of the build's guide by its key. Raises Http404."""
    for stage in gates.guide_stages(build):
        if stage.key == key:
            return stage
    raise Http404("This guide has no such stage.")


def open_stage(request, pk, key):
    """(build, stage, state, answer): `answer` is the page to show instead when the stage may not be worked on."""
    build = access.own_build(request.user, pk)
    stage = stage_of(build, key)
    power = gates.power_of(build)
    if power.stop_unanswered:
        return build, stage, None, redirect("bench:stop", build.pk)
    state = next(s for s in gates.stage_states(build, power) if s.stage.pk == stage.pk)
    if state.state == "shut":
        page = render(request, HELD_BACK, {"build": build, "stage": stage, "state": state, "power": power}, status=409)
        return build, stage, state, page
    if not sittings.ready_for(sittings.current(build), stage):
        return build, stage, state, redirect("bench:cautions", build.pk, stage.key)
    return build, stage, state, None


@signed_in
@require_GET
def stage(request, pk, key):
    build, row, state, answer = open_stage(request, pk, key)
    if answer:
        return answer
    sittings.current_or_new(build)
    StageVisit.objects.get_or_create(build=build, stage=row)
    ticked = set(build.ticks.filter(step__stage=row).values_list("step_id", flat=True))
    photos = {}
    for photo in build.photos.filter(step__stage=row):
        photos.setdefault(photo.step_id, []).append(photo)
    standings = {s.check_row_id: s for s in build.standings.filter(check_row__stage=row).select_related("latest")}
    steps = [(step, step.pk in ticked, photos.get(step.pk, [])) for step in row.steps.all()]
    checks = [(check, standings.get(check.pk)) for check in row.checks.all()]
    following = next((check for check, standing in checks if not (standing and standing.passed)), None)
    return render(request, "bench/stage.html", {
        "build": build, "stage": row, "state": state, "steps": steps, "checks": checks, "next_check": following,
        "photo_form": PhotoForm(), "cautions": cautions_for(row.cautions), "sitting": sittings.current(build),
        "parts": {part.ref: part for part in build.revision.parts.all()}})


@signed_in
@require_http_methods(["GET", "POST"])
def cautions(request, pk, key):
    build = access.own_build(request.user, pk)
    row = stage_of(build, key)
    state = gates.state_of(build, row)
    if state.state == "shut":
        return redirect("bench:stage", build.pk, row.key)
    form = CautionsForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        sittings.acknowledge(sittings.current_or_new(build), row, form.cleaned_data["mains"])
        return redirect("bench:stage", build.pk, row.key)
    return render(request, "bench/cautions.html", {"build": build, "stage": row, "form": form,
                  "cautions": cautions_for(row.cautions)}, status=422 if request.method == "POST" else 200)


@signed_in
@require_POST
def tick(request, pk, key, step):
    """Tick a step, or take the tick back; posting the same wish twice changes nothing."""
    build, row, _state, answer = open_stage(request, pk, key)
    if answer:
        return answer
    found = get_object_or_404(Step, stage=row, key=step)
    if request.POST.get("done") == "no":
        Tick.objects.filter(build=build, step=found).delete()
    else:
        Tick.objects.get_or_create(build=build, step=found)
    mark_done(build, row)
    if request.htmx and gates.is_complete(build, row):
        return HttpResponseClientRefresh()  # the whole page has news: this stage is done
    if request.htmx:
        ticked = Tick.objects.filter(build=build, step=found).exists()
        return render(request, "bench/_step.html", {
            "build": build, "stage": row, "step": found, "ticked": ticked, "photo_form": PhotoForm(),
            "photos": build.photos.filter(step=found), "number": request.POST.get("number", "")})
    return redirect(f"{row_url(build, row)}#step-{found.key}")


def row_url(build, row):
    from django.urls import reverse

    return reverse("bench:stage", args=[build.pk, row.key])


def mark_done(build, row):
    """Note when everything in a stage was done (or that it no longer is)."""
    complete = gates.is_complete(build, row)
    visits = StageVisit.objects.filter(build=build, stage=row)
    visits.filter(done_at=None).update(done_at=timezone.now()) if complete else visits.update(done_at=None)


@signed_in
@require_POST
def photo(request, pk, key, step):
    build, row, _state, answer = open_stage(request, pk, key)
    if answer:
        return answer
    found = get_object_or_404(Step, stage=row, key=step)
    form = PhotoForm(request.POST, request.FILES)
    if form.is_valid():
        try:
            save_photo(form.cleaned_data["photo"], build=build, stage=row, step=found, by=request.user,
                       entry_key=form.cleaned_data["entry_key"])
            mark_done(build, row)
            return redirect(f"{row_url(build, row)}#step-{found.key}")
        except ChecksError as error:
            form.add_error("photo", str(error))
    return render(request, "bench/photo.html", {"build": build, "stage": row, "step": found, "form": form}, status=422)
