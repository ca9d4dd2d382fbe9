"""The map of points of a revision, with medians and worst deviations of all its builds."""

from django.http import Http404
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from builds.accounts.access import may_design
from builds.guides import access
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file.write import as_tables
from builds.guides.points_map.drawing import picture_map, schematic_map
from builds.guides.points_map.points import map_points, mapped_pictures, stages_with_points
from builds.guides.wiring.drawn import build_schematic
from builds.review.point_map import by_stage, points_over_builds
from builds.ui.drawings.schematic import ZOOMS


@may_design
@require_safe
def point_map(request, kit, letter):
    revision = access.designers_revision(request.user, kit, letter)
    guide = load_guide(revision)
    stage, name, zoom = (request.GET.get(key, "") for key in ("stage", "picture", "zoom"))
    if name and name not in guide.pictures:
        raise Http404(_("There is no such picture."))
    rows = points_over_builds(revision, map_points(guide, stage))
    chips = {row.point.number: row.chip for row in rows}
    points = [row.point for row in rows]
    if name:
        drawing = picture_map(guide, guide.pictures[name], points, lambda p: chips[p.number], zoom)
    else:
        schematic = build_schematic(as_tables(revision, guide)["part"])
        drawing = schematic_map(schematic, points, lambda p: chips[p.number], zoom)
    return render(
        request,
        "review/point-map.html",
        {
            "revision": revision,
            "rows": rows,
            "by_stage": by_stage(rows, guide.stages),
            "drawing": drawing,
            "address": reverse("guides:picture", args=[kit, letter, name]) if name else "",
            "picture": name,
            "pictures": mapped_pictures(guide),
            "stages": stages_with_points(guide),
            "stage": stage,
            "zooms": ZOOMS,
        },
    )
