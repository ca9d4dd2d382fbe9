"""What the designer makes of each trouble: cause, status, planned change, and the answer to the builder."""
from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from builds.accounts.access import may_design
from builds.bench.models import Message, Snag
from builds.review import access
from builds.review.figures import stages_of
from builds.review.forms import AnswerForm, TriageForm
from builds.review.models import Cause, Triage
from builds.review.troubles import (
    KINDS,
    TroubleFilter,
    triage_of_deviation,
    triage_of_snag,
    troubles,
)


@may_design
@require_GET
def trouble_list(request, kit, letter):
    revision = access.revision_of(request.user, kit, letter)
    stages = stages_of(revision)
    wanted = TroubleFilter.read(request.GET, stages)
    return render(request, "review/troubles.html", {
        "revision": revision, "troubles": troubles(revision, wanted), "wanted": wanted, "stages": stages,
        "kinds": KINDS, "states": Triage.State.choices, "causes": Cause.choices,
        "filtered": wanted != TroubleFilter()})


@may_design
@require_http_methods(["GET", "POST"])
def deviation(request, kit, letter, pk, stage, key):
    """A build's readings of one check, and what they turned out to mean."""
    revision = access.revision_of(request.user, kit, letter)
    build, check = access.build_of(revision, pk), access.check_of(revision, stage, key)
    form = TriageForm(request.POST or None, instance=triage_of_deviation(build, check))
    if request.method == "POST" and form.is_valid():
        return _keep(request, form, redirect("review:deviation", kit, letter, pk, stage, key))
    return render(request, "review/deviation.html", {
        "revision": revision, "build": build, "check": check, "form": form,
        "readings": build.readings.filter(check_row=check).order_by("attempt")}, status=_status(request))


@may_design
@require_http_methods(["GET", "POST"])
def snag(request, kit, letter, pk, snag):
    revision = access.revision_of(request.user, kit, letter)
    row = access.snag_of(access.build_of(revision, pk), snag)
    form = TriageForm(request.POST or None, instance=triage_of_snag(row))
    if request.method == "POST" and form.is_valid():
        return _keep(request, form, redirect("review:snag", kit, letter, pk, snag))
    return _snag_page(request, revision, row, form, _new_answer())


@may_design
@require_POST
def answer(request, kit, letter, pk, snag):
    """Add to the thread. The same entry key twice is one message."""
    revision = access.revision_of(request.user, kit, letter)
    row = access.snag_of(access.build_of(revision, pk), snag)
    form = AnswerForm(request.POST)
    if not form.is_valid():
        return _snag_page(request, revision, row, TriageForm(instance=triage_of_snag(row)), form)
    _message, new = Message.objects.get_or_create(
        entry_key=form.cleaned_data["entry_key"],
        defaults={"snag": row, "by": request.user, "words": form.cleaned_data["words"]})
    if new and row.state != Snag.State.CLOSED:
        Snag.objects.filter(pk=row.pk).update(state=Snag.State.ANSWERED)
    return redirect("review:snag", kit, letter, pk, snag)


@may_design
@require_POST
def close(request, kit, letter, pk, snag):
    """Close a snag, or open it again."""
    row = access.snag_of(access.build_of(access.revision_of(request.user, kit, letter), pk), snag)
    state = Snag.State.OPEN if request.POST.get("to") == "open" else Snag.State.CLOSED
    Snag.objects.filter(pk=row.pk).update(state=state)
    messages.success(request, "Opened again." if state == Snag.State.OPEN else "Closed.")
    return redirect("review:snag", kit, letter, pk, snag)


def _new_answer():
    from uuid import uuid4

    return AnswerForm(initial={"entry_key": uuid4()})


def _keep(request, form, then):
    triage = form.save(commit=False)
    triage.by, triage.at = request.user, timezone.now()
    triage.save()
    messages.success(request, "Kept.")
    return then


def _snag_page(request, revision, snag, form, answer_form):
    return render(request, "review/snag.html", {
        "revision": revision, "build": snag.build, "snag": snag, "form": form, "answer": answer_form,
        "thread": snag.messages.select_related("by"), "photos": snag.photos.all()}, status=_status(request))


def _status(request):
    return 422 if request.method == "POST" else 200
