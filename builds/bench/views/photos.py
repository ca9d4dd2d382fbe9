"""Photos sent from the bench: of a step, of a check, of a stage as a whole."""

from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST
from django_htmx.http import HttpResponseClientRefresh

from builds.accounts.access import signed_in
from builds.accounts.limits import limited
from builds.bench import access
from builds.bench.forms import PhotoForm
from builds.bench.gates import gating, stops
from builds.bench.models import Photo
from builds.bench.offline import receipts
from builds.bench.offline.arrival import find_arrival, mark_entry_saved
from builds.bench.photos.storage import save_photos
from builds.bench.views.htmx_redirect import htmx_redirect
from builds.bench.views.next_up import next_up
from builds.bench.views.posted_reading import find_check
from builds.bench.views.stage import OpenStage, find_step, mark_done, open_stage, row_url


@signed_in
@require_POST
@limited("upload")
def step(request, pk, key, step):
    opened = open_stage(request, access.own_build(request.user, pk), key)
    if answer := _answer(request, opened):
        return answer
    row = find_step(opened.stage, step)
    return _add(request, opened, f"{row_url(opened.build, opened.stage)}#step-{row.key}", step=row)


@signed_in
@require_POST
@limited("upload")
def check(request, pk, key, check):
    opened = open_stage(request, access.own_build(request.user, pk), key)
    if answer := _answer(request, opened):
        return answer
    row = find_check(opened.stage, check)
    return _add(
        request, opened, reverse("bench:check", args=[opened.build.pk, key, row.key]) + "#photos", check_row=row
    )


@signed_in
@require_POST
@limited("upload")
def stage(request, pk, key):
    opened = open_stage(request, access.own_build(request.user, pk), key)
    if answer := _answer(request, opened):
        return answer
    return _add(request, opened, row_url(opened.build, opened.stage) + "#photos")


def _answer(request, opened: OpenStage):
    """What is answered instead: that these photos are here already, or where the builder is led first."""
    again = receipts.answer_again(request, opened.build, find_arrival(request))
    return again or (opened.answer and htmx_redirect(request, opened.answer))


def _add(request, opened: OpenStage, back: str, step=None, check_row=None):
    """Keep what was sent. Without htmx: back to where it was sent from. With it: the photos and the form anew."""
    request.photos_saved = []  # accounts/not_saved.py counts them
    form, arrival = PhotoForm(request.POST, request.FILES), find_arrival(request)
    if form.is_valid():
        place = {"build": opened.build, "stage": opened.stage, "step": step, "check_row": check_row}
        refused = save_photos(
            form.cleaned_data["photo"],
            entry_key=form.cleaned_data["entry_key"],
            by=request.user,
            at=arrival.at,
            saved=request.photos_saved,
            **place,
        )
        if not refused:
            receipts.record(opened.build, arrival, "photo")
            mark_entry_saved(request, arrival.at)
        for message in refused:
            form.add_error("photo", message)
        if (
            Photo.objects.filter(**place, snag=None).exists()
            and step
            and _noted(opened, step)
            and request.htmx
            and not refused
        ):
            return HttpResponseClientRefresh()  # the whole page has news: this stage is done
    if form.is_valid() and not request.htmx:
        return redirect(back)
    return _shown(request, opened, form, back, step, check_row)


def _noted(opened: OpenStage, step) -> bool:
    opened.facts = opened.facts.with_photo(step.pk)
    return mark_done(opened)


def _shown(request, opened, form, back, step, check_row):
    """The photos and their form; with a step's, the page's pointer to what is next."""
    photos = opened.build.photos.filter(stage=opened.stage, step=step, check_row=check_row, snag=None)
    wrong = bool(form.errors)
    swapped = "bench/_step_photos.html" if step else "bench/_photos.html"
    return render(
        request,
        swapped if request.htmx else "bench/photo.html",
        _pointer(opened)
        | {
            "build": opened.build,
            "stage": opened.stage,
            "step": step,
            "check": check_row,
            "photos": photos,
            "back": back,
            "photo_form": PhotoForm(),
            "wanted": step and step.photo_wanted,
            "example": step.picture if step else "",
            "errors": form.errors.get("photo", []),
            "action": request.path,
            "of": _of(step, check_row),
        },
        status=422 if wrong else 200,
    )


def _pointer(opened: OpenStage) -> dict:
    return {
        "next": next_up(opened.build, opened.stage, opened.facts, power=opened.power),
        "state": gating.state_in(opened.stage, opened.facts),
        "stopped": stops.active_stop(opened.build, opened.power),
    }


def _of(step, check_row) -> str:
    return f"step-{step.key}" if step else "check" if check_row else "stage"
