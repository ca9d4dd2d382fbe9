"""Test-build programmes: all kits at a glance, one kit over its revisions, and the release gate of a revision."""

from django.contrib import messages
from django.db.models import Count, Prefetch, Q
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from builds.accounts.access import may_design
from builds.bench.models import Snag
from builds.guides.access import designers_kit, designers_revision
from builds.guides.models import Kit, Revision
from builds.review.forms import ReleaseForm
from builds.review.programme.release import criteria_of, gate_of
from builds.review.programme.stages import rolled, stage_lines
from builds.review.programme.waiting import pareto, snag_ages, stuck


@may_design
@require_GET
def programmes(request):
    """Every kit with its issued revisions and how many builds they have."""
    revisions = (
        Revision.objects.exclude(state=Revision.State.DRAFT)
        .annotate(
            of_all=Count("builds"),
            begun=Count("builds", filter=Q(builds__started_at__isnull=False)),
            finished=Count("builds", filter=Q(builds__finished_at__isnull=False)),
        )
        .order_by("letter")
    )
    kits = Kit.objects.designed_by(request.user).prefetch_related(Prefetch("revisions", revisions, to_attr="issued"))
    return render(request, "review/programmes.html", {"kits": kits})


@may_design
@require_GET
def programme(request, kit):
    """One kit's programme, over all issued revisions or those chosen."""
    found = designers_kit(request.user, kit)
    issued = list(found.revisions.exclude(state=Revision.State.DRAFT).order_by("letter"))
    wanted = request.GET.getlist("revision")
    chosen = [r for r in issued if r.letter in wanted] or issued
    lines, snags = stage_lines(chosen), snag_ages(chosen)
    gravity = Snag.Severity.values
    return render(
        request,
        "review/programme.html",
        {
            "kit": found,
            "revision": chosen[-1] if chosen else None,
            "issued": issued,
            "chosen": chosen,
            "lines": lines,
            "rolled": rolled(lines),
            "widest": max((line.began for line in lines), default=0),
            "stuck": stuck(chosen),
            "snags": snags,
            "waiting": sorted(
                snags.waiting, key=lambda each: gravity.index(each[0].severity)
            ),  # within one, the oldest first
            "causes": pareto(chosen),
        },
    )


@may_design
@require_http_methods(["GET", "POST"])
def release(request, kit, letter):
    """What must be so before the kit goes on sale, and how far it is so."""
    revision = designers_revision(request.user, kit, letter)
    criteria = criteria_of(revision.kit)
    form = ReleaseForm(request.POST or None, instance=criteria)
    if request.method == "POST" and form.is_valid():
        form.add(revision.kit, request.user)
        messages.success(request, "Saved. The criteria before stay in the list below.")
        return redirect("review:release", kit, letter)
    return render(
        request,
        "review/release.html",
        {
            "revision": revision,
            "form": form,
            "gate": gate_of(revision, stage_lines([revision]), criteria_of(revision.kit)),
            "earlier": revision.kit.release_criteria.select_related("by"),
        },
        status=422 if form.errors else 200,
    )
