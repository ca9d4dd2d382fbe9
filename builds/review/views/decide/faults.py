"""What is probably wrong, over all builds; confirming a cause, and taking that back; which faults the guide would
miss."""

from django.contrib import messages
from django.db import IntegrityError, transaction
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from builds.accounts.access import may_design
from builds.accounts.limits import limited
from builds.bench import access
from builds.bench.diagnosis.causes import priors_for
from builds.bench.models import CheckStatus, ConfirmedFault
from builds.guides.access import designers_revision
from builds.guides.circuit.fault_dictionary import KIND as BOOK
from builds.guides.circuit.fault_dictionary import key_for, load_fault_dictionary, request_fault_dictionary
from builds.jobs import queue
from builds.review.coverage import compute_coverage
from builds.review.probable_causes import over_builds
from builds.ui.messages.faults import fault_sentence
from checks.diagnosis.codes import FaultCode


@may_design
@require_safe
def faults(request, kit, letter):
    """Build by build what its readings point to, and what has been confirmed so far."""
    revision = designers_revision(request.user, kit, letter)
    prepared, job = request_fault_dictionary(revision)
    confirmed = ConfirmedFault.objects.filter(build__revision__kit=revision.kit).select_related("build", "by")
    priors = priors_for(revision.kit, prepared) if prepared else None
    page, rows = over_builds(revision, prepared, priors, request.GET.get("page", 1)) if prepared else (None, [])
    return render(
        request,
        "review/faults.html",
        {
            "revision": revision,
            "job": job,
            "url": request.path,
            "rows": rows,
            "is_read": bool(rows) or (prepared and CheckStatus.objects.filter(build__revision=revision).exists()),
            "explained": [row for row in rows if row.is_explained],
            "unexplained": [row for row in rows if not row.is_explained],
            "page": page,
            "confirmed": confirmed,
            "prepared": prepared,
            "every": _to_choose(prepared, rows) if prepared else (),
            "learned": _learned(prepared, priors) if prepared else [],
        },
    )


def _to_choose(prepared, rows) -> list:
    """The list's faults, and of the paths between any two points those that some build's readings point to: hundreds of
    them would hide the others."""
    likely = {f.key for row in rows for cause in row.causes for place in (cause.at, *cause.others) for f in place}
    return [f for f in prepared.faults if f.code is not FaultCode.STRAY_PATH or f.key in likely]


def _learned(prepared, priors) -> list[tuple]:
    """[(fault, % of all before, % now)] of the faults whose weight has moved most."""
    if priors is None:
        return []
    whole = sum(f.weight for f in prepared.faults)
    rows = [(f, 100 * f.weight / whole, 100 * priors[f.key]) for f in prepared.faults]
    return sorted(rows, key=lambda r: -abs(r[2] - r[1]))[:5]


@may_design
@require_POST
def confirm(request, pk):
    """Record that a build had a fault; the kit's weights learn from it."""
    build = access.designers_build(request.user, pk)
    prepared = load_fault_dictionary(build.revision)
    if prepared is None:
        raise Http404(_("This kit has no list of faults."))
    typed = request.POST.get("fault", "").strip()
    fault = next((f for f in prepared.faults if typed in (f.key, fault_sentence(f))), None)
    if fault is None:
        refusal = _("“%(typed)s” is not one of this kit's faults. Choose one from the list.")
        messages.error(request, refusal % {"typed": typed[:80]})
        return redirect("review:faults", build.revision.kit.key, build.revision.letter)
    try:
        with transaction.atomic():
            ConfirmedFault.of(fault, build=build, by=request.user).save()
        saved = {"serial": build.serial, "fault": fault_sentence(fault)}
        messages.success(request, _("Saved for build %(serial)s: %(fault)s.") % saved)
    except IntegrityError:  # a double tap
        messages.info(request, _("This cause is already saved."))
    return redirect("review:faults", build.revision.kit.key, build.revision.letter)


@may_design
@require_POST
def take_back(request, pk, confirmed):
    build = access.designers_build(request.user, pk)
    row = get_object_or_404(build.confirmed_faults.filter(taken_back_at=None), pk=confirmed)
    row.taken_back_at = timezone.now()
    row.save(update_fields=["taken_back_at"])
    messages.success(request, _("Withdrawn. The diagnosis no longer learns from it."))
    return redirect("review:faults", build.revision.kit.key, build.revision.letter)


@may_design
@require_safe
def coverage(request, kit, letter):
    """Which faults the guide's checks show, which they would miss, and which reading to add."""
    revision = designers_revision(request.user, kit, letter)
    prepared, job = request_fault_dictionary(revision)
    return render(
        request,
        "review/coverage.html",
        {
            "revision": revision,
            "job": job,
            "url": request.path,
            "prepared": prepared,
            "again": reverse("review:faults-again", args=[kit, letter]),
            "found": compute_coverage(revision, prepared) if prepared else None,
        },
    )


@may_design
@require_POST
@limited("compute")
def again(request, kit, letter):
    """Begin a preparation that failed or lost its worker once more."""
    revision = designers_revision(request.user, kit, letter)
    key = key_for(revision)
    queue.start(BOOK, key, revision.pk, key, restart=True)
    return redirect("review:coverage", kit, letter)
