"""All builds of a revision at a glance, and one check over all builds."""

from urllib.parse import urlencode

from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from builds.accounts.access import may_design
from builds.bench.models import Reading, Snag
from builds.guides.access import designers_revision
from builds.guides.figures import band_for
from builds.guides.models import Check
from builds.review import queries
from builds.review.matrix import matrix_html, stages_off
from builds.review.progress import stage_progress
from builds.review.statistics import statistics
from builds.review.strip import strip
from checks.serials import natural
from checks.statistics.summary import summarise

PAGE = 50


def _number(text, default=1):
    return max(1, int(text)) if str(text).isdecimal() and len(str(text)) < 6 else default


@may_design
@require_GET
def dashboard(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    chosen, sort = [key for key in request.GET.getlist("stage") if key], request.GET.get("sort", "serial")
    page, figures = _number(request.GET.get("page")), request.GET.get("figures") == "all"
    checks = queries.checks_of(revision)
    shown = [c for c in checks if not chosen or c.stage.key in chosen]
    builds, total = queries.builds_page(revision, sort, (page - 1) * PAGE, PAGE)
    statuses, counts = queries.statuses_of(builds), queries.check_counts(checks)
    progress_stages, progress = stage_progress(builds, checks)
    snags = queries.snags_by_stage(revision)
    return render(
        request,
        "review/dashboard.html",
        {
            "progress_stages": progress_stages,
            "progress": progress,
            "revision": revision,
            "builds": builds,
            "total": total,
            "page": page,
            "pages": -(-total // PAGE) or 1,
            "chosen": chosen,
            "sort": sort,
            "sorts": queries.SORTS,
            "figures": figures,
            "filters": urlencode(
                [*(("stage", key) for key in chosen), ("sort", sort), *([("figures", "all")] if figures else [])]
            ),
            "jumps": stages_off(shown, statuses),
            "stages": {c.stage.key: c.stage.title for c in checks},
            "matrix": matrix_html(builds, shown, statuses, kit, letter, figures) if builds and shown else "",
            "stops": queries.latest_stops(revision),
            "dangers": queries.danger_snags(revision),
            "ranked": [r for r in queries.ranked_checks(revision, checks, counts) if r.missed.successes][:15],
            "stage_rows": queries.stage_table(revision, checks, counts),
            "snag_stages": snags,
            "snags": _by_kind(snags),
        },
    )


def _by_kind(snags) -> list[tuple]:
    """[(kind, its words, [(stage key, title, count)])] of the kinds that have any: few kinds across many stages fit a
    phone."""
    rows = [
        (kind, words, [(key, title, dict(counts)[kind]) for key, title, counts in snags])
        for kind, words in Snag.Kind.choices
    ]
    return [row for row in rows if any(n for _key, _title, n in row[2])]


@may_design
@require_GET
def check(request, kit, letter, pk):
    """All readings of one check on its band, by value at the guide's mains."""
    revision = designers_revision(request.user, kit, letter)
    row = get_object_or_404(Check.objects.select_related("stage"), stage__revision=revision, pk=pk)
    readings = sorted(
        Reading.objects.filter(check_row=row).select_related("build__builder"),
        key=lambda r: (natural(r.build.serial), r.attempt),
    )
    last = {r.build_id: r for r in readings}
    band = band_for(row)
    dots = [
        (r.at_reference, last[r.build_id].pk == r.pk, f"{r.build.serial}, attempt {r.attempt}: {r.typed}")
        for r in readings
        if r.at_reference is not None
    ]
    finals = [r for r in last.values() if r.at_reference is not None]
    snags = Snag.objects.filter(build__revision=revision, check_row=row).select_related("build", "stage", "by")
    found = statistics(row, band, readings, len(snags))
    return render(
        request,
        "review/check.html",
        {
            "revision": revision,
            "check": row,
            "band": band,
            "readings": readings,
            "strip": strip(band, dots) if dots else None,
            "by_mains": row.unit in ("V", "A"),
            **found,
            "summaries": (
                ("first", found["first"], found["first_off"]),
                (
                    "last",
                    summarise([r.at_reference for r in finals], sum(r.over_range for r in last.values())),
                    found["last_off"],
                ),
            ),
            "snags": snags,
            "last": {r.pk for r in last.values()},
        },
    )
