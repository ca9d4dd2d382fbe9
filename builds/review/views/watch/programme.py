"""Test-build programmes: all kits at a glance, and one kit over its revisions."""

from django.db.models import Count, Prefetch, Q
from django.shortcuts import render
from django.views.decorators.http import require_safe

from builds.accounts.access import may_design
from builds.bench.models import Snag
from builds.guides.access import designers_kit
from builds.guides.models import Kit, Revision
from builds.review.programme.stages import programme_yield, stage_lines
from builds.review.programme.waiting import list_waiting, pareto, snag_ages
from builds.ui.paging import Pages, page_number

KITS_A_PAGE = 50


@may_design
@require_safe
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
    mine = Kit.objects.designed_by(request.user).order_by("name", "pk")
    pages = Pages(page_number(request), mine.count(), KITS_A_PAGE)
    kits = pages.of(mine.prefetch_related(Prefetch("revisions", revisions, to_attr="issued")))
    return render(request, "review/programmes.html", {"kits": kits, "pages": pages})


@may_design
@require_safe
def programme(request, kit):
    """One kit's programme, over all issued revisions or those chosen."""
    row = designers_kit(request.user, kit)
    issued = list(row.revisions.exclude(state=Revision.State.DRAFT).order_by("letter"))
    letters = request.GET.getlist("revision")
    chosen = [r for r in issued if r.letter in letters] or issued
    lines, snags = stage_lines(chosen), snag_ages(chosen)
    severities = Snag.Severity.values
    return render(
        request,
        "review/programme.html",
        {
            "kit": row,
            "revision": chosen[-1] if chosen else None,
            "issued": issued,
            "chosen": chosen,
            "lines": lines,
            "rolled": programme_yield(lines),
            "widest": max((line.began for line in lines), default=0),
            "stuck": list_waiting(chosen),
            "snags": snags,
            # the gravest first; within one severity, the oldest
            "waiting": sorted(snags.waiting, key=lambda entry: severities.index(entry[0].severity)),
            "causes": pareto(chosen),
        },
    )
