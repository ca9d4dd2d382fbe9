"""All builds of a revision at a glance."""

from django.shortcuts import render
from django.views.decorators.http import require_safe

from builds.accounts.access import may_design
from builds.guides.access import designers_revision
from builds.review import queries
from builds.review.matrix import matrix_html, stages_off
from builds.review.matrix_columns import MANY
from builds.review.next_steps import next_steps
from builds.review.read_counts import read_counts
from builds.ui.paging import Pages, page_number

PAGE = 50
WORST = 8  # checks shown before the fold
FIRST = 6  # builds that a phone lists before it is asked for all; so in app.css


@may_design
@require_safe
def dashboard(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    chosen, sort = [key for key in request.GET.getlist("stage") if key], request.GET.get("sort", "serial")
    page, figures = page_number(request), request.GET.get("figures") == "all"
    checks = queries.list_checks(revision)
    shown = [c for c in checks if not chosen or c.stage.key in chosen]
    builds, total = queries.builds_page(revision, sort, (page - 1) * PAGE, PAGE)
    columns = "all" if request.GET.get("columns") == "all" else ""
    fold = len(shown) >= MANY and not columns
    statuses, counts = queries.load_statuses(builds), read_counts(checks)
    filters = [
        *(("stage", key) for key in chosen),
        ("sort", sort),
        ("figures", "all" if figures else ""),
        ("columns", columns),
    ]
    missed = [r for r in queries.ranked_checks(checks, counts) if r.missed.successes]
    return render(
        request,
        "review/dashboard.html",
        {
            "revision": revision,
            "steps": next_steps(revision),
            "total": total,
            "pages": Pages(page, total, PAGE, filters),
            "chosen": chosen,
            "sort": sort,
            "is_narrowed": bool(chosen or figures or sort != "serial"),
            "has_more_builds": len(builds) > FIRST,
            "sorts": queries.SORTS,
            "figures": figures,
            "folds": len(checks) >= MANY,
            "fold": fold,
            "jumps": stages_off(shown, statuses),
            "stages": {c.stage.key: c.stage.title for c in checks},
            "matrix": matrix_html(builds, shown, statuses, kit, letter, figures, fold) if builds and shown else "",
            "stops": queries.latest_stops(revision),
            "dangers": queries.danger_snags(revision),
            "worst": missed[:WORST],
            "others": missed[WORST:],
            "missed_count": len(missed),
            "stage_rows": queries.stage_table(revision, checks, counts),
        },
    )
