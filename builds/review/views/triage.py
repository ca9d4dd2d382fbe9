"""Deciding what deviations and snags turned out to be, and answering builders."""

from urllib.parse import urlencode

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from builds.accounts.access import may_design
from builds.bench import access
from builds.bench.models import Snag
from builds.guides.access import designers_revision
from builds.review.forms import TriageForm
from builds.review.models import Cause, Triage
from builds.review.troubles import PAGE
from builds.review.troubles import troubles as troubles_of


@may_design
@require_GET
def troubles(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    wanted = {name: request.GET.get(name, "") for name in ("state", "cause", "stage", "kind")}
    page = int(typed) if (typed := request.GET.get("page", "")).isdecimal() and 0 < len(typed) < 6 else 1
    rows, total = troubles_of(revision, max(1, page), **wanted)
    return render(
        request,
        "review/troubles.html",
        {
            "revision": revision,
            "rows": rows,
            "total": total,
            "page": page,
            "pages": -(-total // PAGE) or 1,
            "filters": urlencode(wanted),
            **wanted,
            "states": Triage.State.choices,
            "causes": Cause.choices,
            "kinds": Snag.Kind.choices,
            "stages": revision.stages.values_list("key", "title"),
        },
    )


def keep_triage(form, request, **target):
    triage = form.save(commit=False)
    for name, value in target.items():
        setattr(triage, name, value)
    triage.by, triage.at = request.user, timezone.now()
    triage.save()


@may_design
@require_http_methods(["GET", "POST"])
def deviation(request, pk, check):
    """Triage of one build's deviation on one check."""
    build = access.designers_build(request.user, pk)
    standing = get_object_or_404(build.statuses.select_related("check_row__stage", "latest"), check_row=check)
    row = Triage.objects.filter(build=build, check_row=check).first()
    form = TriageForm(request.POST or None, instance=row)
    if request.method == "POST" and form.is_valid():
        keep_triage(form, request, build=build, check_row=standing.check_row)
        messages.success(request, "Saved.")
        return redirect("review:troubles", build.revision.kit.key, build.revision.letter)
    return render(
        request,
        "review/deviation.html",
        {
            "build": build,
            "revision": build.revision,
            "standing": standing,
            "form": form,
            "readings": build.readings.filter(check_row=check),
        },
        status=422 if request.method == "POST" else 200,
    )
