"""The dashboard of a revision, and one check over all builds."""
from django.shortcuts import render
from django.views.decorators.http import require_GET

from builds.accounts.access import may_design
from builds.bench.models import Reading
from builds.guides.figures import band_for
from builds.review import access, figures
from builds.review.filters import SORTS, MatrixFilter
from builds.review.matrix import matrix
from builds.review.strip import make_strip


@may_design
@require_GET
def dashboard(request, kit, letter):
    revision = access.revision_of(request.user, kit, letter)
    wanted = MatrixFilter.read(request.GET)
    stages = figures.stages_of(revision)
    shown = [s for s in stages if s.key in wanted.stages] or stages
    page = figures.build_page(revision, wanted)
    cells = figures.cells_of(page.builds)
    kinds, snags = figures.snag_counts(revision, stages)
    return render(request, "review/dashboard.html", {
        "revision": revision, "stages": stages, "wanted": wanted, "sorts": SORTS, "page": page,
        "matrix": matrix(page.builds, shown, cells),
        "progress": [(b, figures.progress_of(b, stages, cells[b.pk])) for b in page.builds],
        "missed": figures.missed_first([c for s in stages for c in s.checks.all()]),
        "stops": figures.latest_stops(revision), "dangers": figures.danger_snags(revision),
        "snag_kinds": kinds, "snag_rows": snags,
        "earlier": wanted.address(page=page.page - 1) if page.page > 1 else "",
        "later": wanted.address(page=page.page + 1) if page.page < page.pages else ""})


@may_design
@require_GET
def check(request, kit, letter, stage, key):
    """All readings of a check on its band, brought to the guide's mains voltage."""
    revision = access.revision_of(request.user, kit, letter)
    row = access.check_of(revision, stage, key)
    readings = list(Reading.objects.filter(check_row=row, build__revision=revision).select_related("build")
                    .order_by("build__serial", "attempt"))
    band = band_for(row)
    return render(request, "review/check.html", {
        "revision": revision, "check": row, "readings": readings, "band": band, "strip": make_strip(readings, band),
        "over_range": sum(r.over_range for r in readings)})
