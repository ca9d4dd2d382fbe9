"""Correlations of the readings with batches of parts, makes of valve, meters and the rest."""

from django.contrib import messages
from django.db import transaction
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from builds.accounts.access import may_design
from builds.bench.models import Build
from builds.guides.access import designers_revision
from builds.review.batch_form import BatchForm
from builds.review.correlations import Circumstances
from builds.review.correlations_cache import list_correlations
from builds.review.models import PartBatch
from checks.serials import natural

MOST_SHOWN = 200  # builds in the table of valves


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def correlations(request, kit, letter):
    """Correlations, part batches and the valves fitted. A post saves a batch."""
    revision = designers_revision(request.user, kit, letter)
    form = BatchForm(request.POST or None, revision=revision)
    if request.method == "POST" and form.is_valid():
        messages.success(request, _("Saved: %(batch)s.") % {"batch": _save(revision, form.cleaned_data, request.user)})
        return redirect("review:batches", kit, letter)
    around = Circumstances(revision)
    valves = [
        (around.builds[pk], [(ref, sockets.get(ref, [])) for ref in around.sockets])
        for pk, sockets in around.valves.items()
    ]
    return render(
        request,
        "review/correlations.html",
        {
            "revision": revision,
            "form": form,
            "correlations": list_correlations(revision, around),
            "batches": around.batches,
            "sockets": around.sockets,
            "valves": sorted(valves, key=lambda row: natural(row[0].serial))[:MOST_SHOWN],
            "more": max(0, len(valves) - MOST_SHOWN),
        },
        status=422 if request.method == "POST" else 200,
    )


@transaction.atomic
def _save(revision, data, person) -> PartBatch:
    batch = PartBatch.objects.create(
        revision=revision, refs=data["refs"], name=data["name"], note=data["note"], by=person
    )
    batch.builds.set(Build.objects.filter(revision=revision, serial__in=data["serials"]))
    return batch


@may_design
@require_POST
def delete_batch(request, kit, letter, pk):
    """Delete a batch; its builds stay."""
    batch = get_object_or_404(PartBatch, revision=designers_revision(request.user, kit, letter), pk=pk)
    batch.delete()
    messages.success(request, _("Deleted: %(batch)s.") % {"batch": batch})
    return redirect("review:batches", kit, letter)
