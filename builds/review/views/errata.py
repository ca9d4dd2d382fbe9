"""Errata and halts, as the designer makes and takes them back."""

from django.contrib import messages
from django.db import IntegrityError, transaction
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from builds.accounts.access import may_design
from builds.bench import notices
from builds.bench.models import Erratum, Halt
from builds.guides.access import designers_revision
from builds.review.forms import ErratumForm, HaltForm


@may_design
@require_http_methods(["GET", "POST"])
def errata(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    form = ErratumForm(request.POST or None, revision=revision)
    if request.method == "POST" and form.is_valid():
        if revision.is_draft:
            form.add_error(None, "This is a draft: edit it. Errata are for revisions that are issued and frozen.")
        else:
            with transaction.atomic():
                notices.pinned(
                    Erratum.objects.create(
                        revision=revision,
                        by=request.user,
                        words=form.cleaned_data["words"],
                        again=form.cleaned_data["again"],
                        **form.target(),
                    )
                )
            messages.success(
                request, "Pinned. Builders read it before they go on; those past it are told on their build's page."
            )
            return redirect("review:errata", kit, letter)
    return _page(request, revision, form, HaltForm(revision=revision), 422 if request.method == "POST" else 200)


def _page(request, revision, form, halt_form, status):
    rows = revision.errata.select_related("stage", "step", "check_row", "part", "by").prefetch_related("seen")
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
    row = get_object_or_404(revision.errata.filter(withdrawn_at=None), pk=pk)
    row.withdrawn_at = timezone.now()
    row.save(update_fields=["withdrawn_at"])
    messages.success(request, "Taken back; builders no longer see it.")
    return redirect("review:errata", kit, letter)


@may_design
@require_POST
def halt(request, kit, letter):
    """Shut a stage for every build at once."""
    revision = designers_revision(request.user, kit, letter)
    form = HaltForm(request.POST, revision=revision)
    if not form.is_valid():
        return _page(request, revision, ErratumForm(revision=revision), form, 422)
    try:
        with transaction.atomic():
            notices.halted(Halt.objects.create(by=request.user, **form.cleaned_data))
        messages.success(request, f"“{form.cleaned_data['stage'].title}” is shut for every build until you lift it.")
    except IntegrityError:
        messages.info(request, "That stage is shut already.")
    return redirect("review:errata", kit, letter)


@may_design
@require_POST
def lift(request, kit, letter, pk):
    revision = designers_revision(request.user, kit, letter)
    row = get_object_or_404(Halt.objects.filter(stage__revision=revision, lifted_at=None), pk=pk)
    row.lifted_at = timezone.now()
    row.save(update_fields=["lifted_at"])
    messages.success(request, "Lifted; builders may go on.")
    return redirect("review:errata", kit, letter)
