"""Errata as a builder meets them: read and confirmed before the stage goes on, or after the fact."""

from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from builds.accounts.access import signed_in
from builds.bench import access
from builds.bench.models import Erratum, ErratumSeen
from builds.bench.views.stage import find_stage


def unseen(build, **where):
    """Errata of a build's guide that stand and that it has not confirmed."""
    rows = Erratum.objects.filter(revision=build.revision_id, withdrawn_at=None, **where).exclude(seen__build=build)
    return rows.select_related("stage", "step", "check_row", "part", "correction")


@signed_in
@require_safe
def errata(request, pk, key):
    build = access.own_build(request.user, pk)
    stage = find_stage(build, key)
    return render(request, "bench/errata.html", {"build": build, "stage": stage, "errata": unseen(build, stage=stage)})


@signed_in
@require_POST
def confirm(request, pk, erratum):
    """Confirm one; a second tap changes nothing."""
    build = access.own_build(request.user, pk)
    row = get_object_or_404(Erratum.objects.select_related("stage"), pk=erratum, revision=build.revision_id)
    ErratumSeen.objects.get_or_create(erratum=row, build=build)
    if request.POST.get("from") == "build":
        return redirect("bench:build", build.pk)
    return redirect("bench:stage", build.pk, row.stage.key)
