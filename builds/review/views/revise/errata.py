"""Errata and halts: publishing and withdrawing them."""

from django.contrib import messages
from django.db import IntegrityError, transaction
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from builds.accounts.access import may_design
from builds.bench import notices
from builds.bench.errata import correct_figures, reopen_corrected
from builds.bench.errata import withdraw as withdraw_erratum
from builds.bench.models import Erratum, Halt
from builds.bench.readings.entry_keys import UsedKey, add_once
from builds.guides.access import designers_revision
from builds.guides.circuit.fault_dictionary import request_fault_dictionary
from builds.review.forms import ErratumForm, HaltForm


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def errata(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    form = ErratumForm(request.POST or None, revision=revision)
    if request.method == "POST" and form.is_valid():
        if revision.is_draft:
            form.add_error(None, _("This is a draft: edit the guide itself. Errata are for issued revisions."))
        elif _published(request, revision, form):
            return redirect("review:errata", kit, letter)
    return _page(request, revision, form, HaltForm(revision=revision), 422 if request.method == "POST" else 200)


def _published(request, revision, form) -> bool:
    """Publish it, once however often it is sent. Where the page was used for another, the form says so."""
    data, correction = form.cleaned_data, form.correction
    entered = {"revision": revision, "words": data["words"], "again": data["again"], **form.target()}
    try:
        with transaction.atomic():
            row, is_new = add_once(Erratum, data["entry_key"], entered, by=request.user)
            if is_new:
                if correction:
                    correct_figures(row, row.check_row, **vars(correction))
                reopen_corrected(row)
                notices.notify_of_erratum(row)
            elif (row.correction and row.correction.figures) != (correction and correction.figures):
                raise UsedKey(row.words[:60])
    except UsedKey as error:
        form.ask_again(error)
        return False
    if correction and is_new:
        request_fault_dictionary(revision)
    messages.success(
        request,
        _(
            "Published. Builders read it before they continue; builders who are past that point see it on their "
            "build’s page."
        ),
    )
    return True


def _page(request, revision, form, halt_form, status):
    rows = revision.errata.select_related("stage", "step", "check_row", "part", "by", "correction")
    rows = rows.prefetch_related("seen")
    return render(
        request,
        "review/errata.html",
        {
            "revision": revision,
            "form": form,
            "halt_form": halt_form,
            "errata": rows,
            "builds": revision.builds.count(),
            "halts": Halt.objects.filter(stage__revision=revision).select_related("stage", "by"),
        },
        status=status,
    )


@may_design
@require_POST
def withdraw(request, kit, letter, pk):
    revision = designers_revision(request.user, kit, letter)
    with transaction.atomic():
        rows = revision.errata.filter(withdrawn_at=None).select_for_update(of=("self",))
        row = get_object_or_404(rows, pk=pk)
        withdraw_erratum(row)
        if row.correction_id:
            notices.notify_of_figures_set_back(row)
    if row.correction_id:
        messages.success(
            request,
            _(
                "Withdrawn. The previous figures apply again. Builders under way must take this reading "
                "again and get a message."
            ),
        )
    else:
        messages.success(request, _("Withdrawn. Builders no longer see it."))
    return redirect("review:errata", kit, letter)


@may_design
@require_POST
def halt(request, kit, letter):
    """Halt a stage for every build at once."""
    revision = designers_revision(request.user, kit, letter)
    form = HaltForm(request.POST, revision=revision)
    if not form.is_valid():
        return _page(request, revision, ErratumForm(revision=revision), form, 422)
    try:
        with transaction.atomic():
            notices.notify_of_halt(Halt.objects.create(by=request.user, **form.cleaned_data))
        messages.success(
            request,
            _("“%(stage)s” is halted for every build until you lift the halt.")
            % {"stage": form.cleaned_data["stage"].title},
        )
    except IntegrityError:
        messages.info(request, _("That stage is already halted."))
    return redirect("review:errata", kit, letter)


@may_design
@require_POST
def lift(request, kit, letter, pk):
    revision = designers_revision(request.user, kit, letter)
    row = get_object_or_404(Halt.objects.filter(stage__revision=revision, lifted_at=None), pk=pk)
    row.lifted_at = timezone.now()
    row.save(update_fields=["lifted_at"])
    messages.success(request, _("Lifted. Builders may continue."))
    return redirect("review:errata", kit, letter)
