"""A snag as its designer sees it: the thread, the answer, what it turned out to be, and the snags that say the same."""

from django.contrib import messages
from django.db import transaction
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from builds.accounts.access import may_design
from builds.bench import notices
from builds.bench.models import Snag
from builds.bench.readings.entry_keys import add_message
from builds.bench.snags import merging
from builds.review.forms import AnswerForm, TriageForm
from builds.review.models import Triage
from builds.review.views.triage import keep_triage
from checks.errors import ChecksError


def designers_snag(person, pk) -> Snag:
    """A snag of a kit this person designs. Raises Http404."""
    theirs = Snag.objects.filter(build__revision__kit__designers=person)
    return get_object_or_404(
        theirs.select_related(
            "build__revision__kit",
            "build__builder",
            "stage",
            "step",
            "check_row",
            "part",
            "by",
            "merged_into__build",
            "merged_into__stage",
        ),
        pk=pk,
    )


@may_design
@require_http_methods(["GET", "POST"])
def snag(request, pk):
    """A snag's thread, its answer and its triage, in one form that keeps all or nothing."""
    row = designers_snag(request.user, pk)
    triage = TriageForm(request.POST or None, instance=Triage.objects.filter(snag=row).first(), prefix="triage")
    answer = AnswerForm(request.POST or None, initial={"state": row.state})
    if request.method == "POST" and triage.is_valid() and answer.is_valid():
        with transaction.atomic():
            keep_triage(triage, request, snag=row)
            _answer(request, row, answer.cleaned_data)
        messages.success(request, "Saved, and the builder sees your answer.")
        return redirect("review:snag", row.pk)
    return _page(request, row, triage, answer, status=422 if request.method == "POST" else 200)


def _page(request, row, triage, answer, status, wrong=""):
    return render(
        request,
        "review/snag.html",
        {
            "snag": row,
            "revision": row.build.revision,
            "thread": row.messages.select_related("by"),
            "photos": row.photos.all(),
            "triage": triage,
            "answer": answer,
            "merged": row.merged.select_related("build__revision"),
            "answered_in": row.change_records.select_related("revision"),
            "candidates": [] if row.merged_into_id else merging.candidates(row),
            "wrong": wrong,
        },
        status=status,
    )


def _answer(request, row, data):
    state = data["state"]
    if data["words"].strip():
        message, new = add_message(row, request.user, data["words"], data["entry_key"])
        if new:
            notices.answered(row, message)
        state = Snag.State.ANSWERED if state == Snag.State.OPEN else state
    row.state = state
    row.save(update_fields=["state"])
    row.merged.update(state=state)


@may_design
@require_POST
def merge(request, pk):
    """Say that a snag is another one over again."""
    row = designers_snag(request.user, pk)
    typed = request.POST.get("into", "")
    into = (
        Snag.objects.filter(build__revision__kit__designers=request.user, pk=int(typed))
        .select_related("build__revision", "merged_into__build__revision")
        .first()
        if typed.isdecimal() and len(typed) < 16
        else None
    )
    try:
        if into is None:
            raise ChecksError("Choose the snag that says the same.", argument="into")
        merging.merge(row, into)
    except ChecksError as error:
        triage = TriageForm(instance=Triage.objects.filter(snag=row).first(), prefix="triage")
        return _page(request, row, triage, AnswerForm(initial={"state": row.state}), 422, str(error))
    messages.success(request, "Merged: your answers there reach this builder too.")
    return redirect("review:snag", row.pk)


@may_design
@require_POST
def take_apart(request, pk):
    merging.take_apart(designers_snag(request.user, pk))
    messages.success(request, "It stands alone again, and is open.")
    return redirect("review:snag", pk)
