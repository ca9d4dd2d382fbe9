"""The drawn schematic of a revision: a page, a file, and the piece that follows the wiring while it is typed."""

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from builds.accounts.access import may_design
from builds.accounts.limits import limited
from builds.guides import access
from builds.guides.editor.wiring_table import posted_ends, trial_parts
from builds.guides.guide_file.write import as_tables
from builds.guides.wiring.drawn import build_schematic
from builds.guides.wiring.wires import ends_by_point
from builds.ui.drawings.schematic import ZOOMS, build_drawing, schematic_file


@may_design
@require_safe
def schematic(request, kit, letter):
    revision = access.designers_revision(request.user, kit, letter)
    parts = as_tables(revision)["part"]
    drawn = build_schematic(parts)
    return render(
        request,
        "guides/schematic.html",
        {
            "revision": revision,
            "drawing": build_drawing(drawn, request.GET.get("zoom")),
            "zooms": ZOOMS,
            "points": ends_by_point(parts),
            "left_out": drawn.left_out if drawn else (),
        },
    )


@may_design
@require_safe
def file(request, kit, letter):
    revision = access.designers_revision(request.user, kit, letter)
    return svg_answer(revision, build_schematic(as_tables(revision)["part"]))


def svg_answer(revision, drawn) -> HttpResponse:
    """The schematic as a file to save."""
    if drawn is None:
        raise Http404(_("This circuit could not be drawn."))
    title = _("%(name)s, revision %(letter)s: schematic") % {"name": revision.name, "letter": revision.letter}
    answer = HttpResponse(schematic_file(drawn, title), content_type="image/svg+xml")
    answer["Content-Disposition"] = f'inline; filename="{revision.kit.key}-{revision.letter}-schematic.svg"'
    answer["X-Content-Type-Options"] = "nosniff"
    return answer


@may_design
@require_POST
@limited("drawing")
def while_wiring(request, kit, letter):
    """The schematic as it would be with what is typed in the wiring table; nothing is saved."""
    draft = access.draft_revision(request.user, kit, letter)
    parts = trial_parts(as_tables(draft)["part"], posted_ends(request.POST))
    return render(
        request,
        "guides/_schematic.html",
        {"revision": draft, "drawing": build_drawing(build_schematic(parts)), "unsaved": True},
    )
