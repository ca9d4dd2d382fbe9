"""A snag as its designer sees it: the thread, the answer, the root cause, and the snags that say the same."""

from django.contrib import messages
from django.db import transaction
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from builds.accounts.access import may_design
from builds.bench import notices
from builds.bench.forms import add_message
from builds.bench.models import Snag
from builds.bench.readings.entry_keys import UsedKey
from builds.bench.snags import merging, spots
from builds.guides.access import for_role
from builds.review.forms import AnswerForm, TriageForm
from builds.review.models import Triage
from builds.review.problems.state import with_snag_state
from builds.review.views.decide.findings import find_page
from builds.review.views.decide.problems import save_triage
from builds.ui.errors import SiteError
from builds.ui.row_numbers import row_number

ABOUT = (
    "build__revision__kit",
    "build__builder",
    "stage",
    "step",
    "check_row",
    "part",
    "by",
    "merged_into__build",
    "merged_into__stage",
)


def designers_snag(person, pk) -> Snag:
    """A snag of a kit this person designs, with its state. Raises Http404."""
    theirs = with_snag_state(Snag.objects.filter(build__revision__kit__designers=person))
    snag = get_object_or_404(theirs.select_related(*ABOUT), pk=pk)
    for_role(person, snag.build.revision.kit)
    return snag


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def snag(request, pk):
    """A snag's thread, its answer and its triage, in one form that saves all or nothing."""
    row = designers_snag(request.user, pk)
    triage = TriageForm(request.POST or None, instance=Triage.objects.filter(snag=row).first(), prefix="triage")
    answer = AnswerForm(request.POST or None)
    if request.method == "POST" and triage.is_valid() and answer.is_valid():
        try:
            with transaction.atomic():
                saved = save_triage(triage, request, snag=row)
                is_sent = _send_answer(request, row, answer.cleaned_data)
                _set_state(row, saved, is_sent)
        except UsedKey as error:  # nothing is saved
            answer.ask_again(error)
            return _page(request, row, triage, answer, status=422)
        messages.success(request, _("Saved. The builder sees your answer.") if is_sent else _("Saved."))
        return redirect("review:snag", row.pk)
    return _page(request, row, triage, answer, status=422 if request.method == "POST" else 200)


def _page(request, row, triage, answer, status, wrong=""):
    revision = row.build.revision
    findings = reverse("review:findings", args=[revision.kit.key, revision.letter])
    return render(
        request,
        "review/snag.html",
        {
            "snag": row,
            "revision": revision,
            "thread": row.messages.select_related("by"),
            "photos": row.photos.all(),
            **spots.spot_context(row),
            "triage": triage,
            "answer": answer,
            "merged": row.merged.select_related("build__revision"),
            "answered_in": row.change_records.select_related("revision"),
            "candidates": [] if row.merged_into_id else merging.candidates(row),
            "wrong": wrong,
            "decide": f"{findings}?snags={find_page(revision, row)}#snag-{row.pk}",
        },
        status=status,
    )


def _send_answer(request, row, data) -> bool:
    """Was there an answer to send? One sent twice is one message."""
    if not data["words"].strip():
        return False
    message, new = add_message(row, request.user, data["words"], data["entry_key"])
    if new:
        notices.notify_of_answer(row, message)
    return True


def _set_state(row, triage: Triage, is_sent: bool) -> None:
    """What the builder sees of the snag's state, and of those merged into it."""
    if triage.closes:
        state = Snag.State.CLOSED
    elif is_sent or (row.state == Snag.State.CLOSED and row.messages.exclude(by=row.by).exists()):
        state = Snag.State.ANSWERED
    else:
        state = Snag.State.OPEN if row.state == Snag.State.CLOSED else row.state
    row.state = state
    row.save(update_fields=["state"])
    row.merged.update(state=state)


@may_design
@require_POST
def merge(request, pk):
    """Say that a snag is another one over again."""
    row = designers_snag(request.user, pk)
    reported = Snag.objects.filter(build__revision__kit__designers=request.user)
    reported = reported.select_related("build__revision", "merged_into__build__revision")
    into = reported.filter(pk=row_number(request.POST.get("into", ""))).first()
    try:
        if into is None:
            raise SiteError(_("Choose the snag that reports the same problem."), argument="into")
        merging.merge(row, into)
    except SiteError as error:
        triage = TriageForm(instance=Triage.objects.filter(snag=row).first(), prefix="triage")
        return _page(request, row, triage, AnswerForm(), 422, str(error))
    messages.success(request, _("Merged. Your answers there reach this builder too."))
    return redirect("review:snag", row.pk)


@may_design
@require_POST
def unmerge(request, pk):
    merging.split(designers_snag(request.user, pk))
    messages.success(request, _("Separated. This snag is open again."))
    return redirect("review:snag", pk)
