"""The map of points: the schematic or a picture of the designer's with expected volts and the builder's readings."""

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from builds.accounts.access import signed_in
from builds.bench import access
from builds.bench.gates import sittings
from builds.bench.overview.point_map import point_rows
from builds.guides.guide_file.write import as_tables
from builds.guides.guide_texts import load_guide_in
from builds.guides.points_map.drawing import picture_map, schematic_map
from builds.guides.points_map.points import map_points, mapped_pictures, stages_with_points
from builds.guides.views.schematic import svg_answer
from builds.guides.wiring.drawn import build_schematic
from builds.ui.drawings.schematic import ZOOMS


@signed_in
@require_safe
def point_map(request, pk):
    """`picture`, `stage` and `zoom` stand in the address."""
    build = access.visible_build(request.user, pk)
    guide = load_guide_in(build.revision, get_language())
    stage, name, zoom = (request.GET.get(key, "") for key in ("stage", "picture", "zoom"))
    sitting = sittings.current_sitting(build)
    rows = point_rows(build, map_points(guide, stage), sitting.mains_volts if sitting else None)
    chips = {row.point.number: row.chip for row in rows}
    points = [row.point for row in rows]
    return render(
        request,
        "bench/point-map.html",
        {
            "build": build,
            "own": build.builder_id == request.user.pk,
            "rows": rows,
            "drawing": _drawing(build, guide, points, name, lambda point: chips[point.number], zoom),
            "address": reverse("bench:picture", args=[pk, name]) if name else "",
            "picture": name,
            "tapped": True,  # a point leads to its line
            "pictures": mapped_pictures(guide),
            "stages": stages_with_points(guide),
            "stage": stage,
            "zooms": ZOOMS,
        },
    )


def _drawing(build, guide, points, name: str, make_chip, zoom: str):
    if not name:
        return schematic_map(build_schematic(as_tables(build.revision, guide)["part"]), points, make_chip, zoom)
    if name not in guide.pictures:
        raise Http404(_("There is no such picture."))
    return picture_map(guide, guide.pictures[name], points, make_chip, zoom)


@signed_in
@require_safe
def schematic_file(request, pk):
    """A phone that keeps the pages of a guide asks without knowing whether this one can be drawn."""
    build = access.visible_build(request.user, pk)
    drawn = build_schematic(as_tables(build.revision)["part"])
    if drawn is None and "kept" in request.GET:
        return HttpResponse(status=204)
    return svg_answer(build.revision, drawn)
