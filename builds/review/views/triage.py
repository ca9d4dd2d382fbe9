"""Deciding what deviations and snags turned out to be, and answering builders."""
from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from builds.accounts.access import may_design
from builds.bench import access
from builds.bench.models import Message, Snag
from builds.guides.access import designers_revision
from builds.review import queries
from builds.review.forms import AnswerForm, TriageForm
from builds.review.models import Cause, Triage


@may_design
@require_GET
def troubles(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    wanted = {name: request.GET.get(name, "") for name in ("state", "cause", "stage", "kind")}
    return render(request, "review/troubles.html", {
        "revision": revision, "rows": queries.troubles(revision, **wanted), **wanted, "states": Triage.State.choices,
        "causes": Cause.choices, "kinds": Snag.Kind.choices, "stages": revision.stages.values_list("key", "title")})


def _save(form, request, **target):
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
    standing = get_object_or_404(build.standings.select_related("check_row__stage", "latest"), check_row=check)
    row = Triage.objects.filter(build=build, check_row=check).first()
    form = TriageForm(request.POST or None, instance=row)
    if request.method == "POST" and form.is_valid():
        _save(form, request, build=build, check_row=standing.check_row)
        messages.success(request, "Noted.")
        return redirect("review:troubles", build.revision.kit.key, build.revision.letter)
    return render(request, "review/deviation.html", {
        "build": build, "revision": build.revision, "standing": standing, "form": form,
        "readings": build.readings.filter(check_row=check)}, status=422 if request.method == "POST" else 200)


@may_design
@require_http_methods(["GET", "POST"])
def snag(request, pk):
    """A snag's thread, its answer and its triage, in one form that keeps all or nothing."""
    row = get_object_or_404(Snag.objects.filter(build__revision__kit__designers=request.user).select_related(
        "build__revision__kit", "stage", "step", "check_row", "part", "by"), pk=pk)
    triage = TriageForm(request.POST or None, instance=Triage.objects.filter(snag=row).first(), prefix="triage")
    answer = AnswerForm(request.POST or None, initial={"state": row.state})
    if request.method == "POST" and triage.is_valid() and answer.is_valid():
        _save(triage, request, snag=row)
        _answer(request, row, answer.cleaned_data)
        messages.success(request, "Noted, and the builder sees your answer.")
        return redirect("review:snag", row.pk)
    return render(request, "review/snag.html", {
        "snag": row, "revision": row.build.revision, "thread": row.messages.select_related("by"),
        "photos": row.photos.all(), "triage": triage, "answer": answer}, status=422 if request.method == "POST" else 200)


def _answer(request, row, data):
    state = data["state"]
    if data["words"].strip():
        Message.objects.get_or_create(entry_key=data["entry_key"], defaults={
            "snag": row, "by": request.user, "words": data["words"]})
        state = Snag.State.ANSWERED if state == Snag.State.OPEN else state
    row.state = state
    row.save(update_fields=["state"])
