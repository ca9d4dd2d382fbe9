"""Reporting a snag and following its thread."""

import json

from django.contrib import messages
from django.db import transaction
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from builds.accounts.access import signed_in
from builds.accounts.limits import limited
from builds.bench import access, notices
from builds.bench.forms import MessageForm, SnagForm
from builds.bench.models import Snag
from builds.bench.offline import receipts
from builds.bench.offline.arrival import find_arrival, mark_entry_saved
from builds.bench.photos.storage import stored_photos
from builds.bench.readings.entry_keys import UsedKey, add_once
from builds.bench.snags import merging, spots
from builds.bench.views.htmx_redirect import htmx_redirect
from builds.bench.views.stage import find_stage
from checks.errors import ChecksError

ABOUT = ("step", "check_row", "part")


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
@limited("upload")
def new_snag(request, pk, key):
    """Always open, whatever is shut: trouble must be sayable."""
    build = access.own_build(request.user, pk)
    stage = find_stage(build, key)
    form = SnagForm(
        request.POST or None,
        request.FILES or None,
        stage=stage,
        initial={name: request.GET.get(name, "") for name in ("about", "kind", "severity")},
    )
    if request.method == "POST" and form.is_valid():
        snag = _report(request, build, stage, form)
        if snag:
            mark_entry_saved(request, snag.at)
            messages.success(request, _("Report sent. The designer sees it and answers here."))
            return htmx_redirect(request, redirect("bench:snag", build.pk, snag.pk))
    return render(
        request,
        "bench/new-snag.html",
        {"build": build, "stage": stage, "form": form, "pictures": _pictures(build, form)},
        status=422 if request.method == "POST" else 200,
    )


def _pictures(build, form) -> str:
    """The address of the guide's picture of each step and check that has one, as JSON, to mark a place on."""
    named = {name: picture for name, picture in form.pictures.items() if picture}
    return json.dumps({about: reverse("bench:picture", args=[build.pk, name]) for about, name in named.items()})


def _report(request, build, stage, form) -> Snag | None:
    """Photos are decoded and on disk before the transaction begins: it holds the database for a moment only."""
    data, arrival = form.cleaned_data, find_arrival(request)
    try:
        with stored_photos(data["photo"], build) as photos, transaction.atomic():
            entered = {name: data[name] for name in ("kind", "severity", "words")} | form.target()
            entered = {"build": build, "stage": stage, "by": request.user, **dict.fromkeys(ABOUT), **entered}
            snag, new = add_once(Snag, data["entry_key"], entered, at=arrival.at, spot=data["spot"])
            receipts.record_late(build, arrival, "snag")
            for photo in photos if new else ():
                photo.add_row(build=build, stage=stage, snag=snag, by=request.user)
            if new:
                notices.notify_of_snag(snag)
    except UsedKey as error:
        form.ask_again(error)
        return None
    except ChecksError as error:  # nothing is kept: the form comes back with the words typed
        form.add_error("photo", str(error))
        return None
    return snag


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def snag(request, pk, snag):
    build = access.own_build(request.user, pk)
    row = get_object_or_404(
        build.snags.select_related("stage", "step", "check_row", "part", "by", "build__revision", "merged_into__build"),
        pk=snag,
    )
    form = MessageForm(request.POST or None)
    if request.method == "POST" and form.is_valid() and _write(request, row, form):
        return redirect("bench:snag", build.pk, row.pk)
    return render(
        request,
        "bench/snag.html",
        {
            "build": build,
            "snag": row,
            "form": form,
            "thread": merging.thread_for_builder(row),
            "photos": row.photos.all(),
            **spots.spot_context(row),
        },
        status=422 if request.method == "POST" else 200,
    )


def _write(request, row, form) -> bool:
    """Add the builder's message to the thread; a second tap adds and tells nothing."""
    try:
        with transaction.atomic():
            message, is_new = form.save(row, request.user)
            if is_new:
                notices.notify_of_message(message)
    except UsedKey as error:
        form.ask_again(error)
        return False
    return True
