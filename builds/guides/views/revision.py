"""One revision: read it, send it out, issue, clone, withdraw."""

from django.contrib import messages
from django.http import FileResponse, Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_POST

from builds.accounts.access import may_design
from builds.guides import access, revisions
from builds.guides.circuit.component_stress import over_limits
from builds.guides.circuit.problems import troubles_of
from builds.guides.circuit.stored import attach, kept
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file import write_guide, write_zip
from builds.guides.guide_file.compare import by_figure, differences
from builds.ui.drawings.resistor import colours_of


@may_design
@require_GET
def revision(request, kit, letter):
    row = access.designers_revision(request.user, kit, letter)
    guide = load_guide(row)
    parts = [(part, colours_of(part)) for part in guide.parts.values()]
    return render(
        request,
        "guides/revision.html",
        {
            **_circuit_of(row, guide),
            "revision": row,
            "stages": guide.stages,
            "parts": parts,
            "points": guide.probes.points.values(),
            "pictures": guide.pictures.values(),
            "others": row.kit.revisions.exclude(pk=row.pk),
            "has_builds": row.builds.exists(),
        },
    )


def _circuit_of(row, guide) -> dict:
    """What the circuit says of the revision without computing anything that takes long; its checks get their
    figures."""
    figures = kept(row, guide) if row.is_draft or row.figures_id else None
    detail = figures.detail if figures else {"checks": {}, "stresses": []}
    attach(row, [check for stage in guide.stages for check in stage.checks.all()], detail["checks"])
    told = troubles_of(guide, {"volts": row.mains_volts, "hertz": row.mains_hertz}) if row.is_draft else []
    return {
        "circuit_known": figures is not None,
        "over": over_limits(detail["stresses"]),
        "circuit_problems": [t for t in told if t.refuses],
        "circuit_doubts": [t for t in told if not t.refuses],
    }


@may_design
@require_GET
def export(request, kit, letter, form):
    row = access.designers_revision(request.user, kit, letter)
    name = f"{row.kit.key}-{row.letter}"
    if form not in ("toml", "zip"):
        raise Http404("A guide comes as guide.toml or guide.zip.")
    if form == "toml":
        answer = HttpResponse(write_guide(row), content_type="application/toml; charset=utf-8")
    else:
        answer = HttpResponse(write_zip(row), content_type="application/zip")
    answer["Content-Disposition"] = f'attachment; filename="{name}.{"toml" if form == "toml" else "zip"}"'
    return answer


def _carry_out(request, row, action, done):
    try:
        result = action(row)
        messages.success(request, done)
        return redirect("guides:revision", result.kit.key, result.letter)
    except revisions.StillComputing as error:
        messages.info(request, str(error))
        return redirect("guides:circuit", row.kit.key, row.letter)  # which shows how far they are
    except revisions.NotReady as error:
        messages.error(request, str(error))
        return redirect("guides:revision", row.kit.key, row.letter)


@may_design
@require_POST
def issue(request, kit, letter):
    row = access.designers_revision(request.user, kit, letter)
    return _carry_out(request, row, revisions.issue, "Issued. It is frozen now, and builds can be made from it.")


@may_design
@require_POST
def withdraw(request, kit, letter):
    row = access.designers_revision(request.user, kit, letter)
    return _carry_out(request, row, revisions.withdraw, "Withdrawn. No new builds are made from it.")


@may_design
@require_POST
def clone(request, kit, letter):
    row = access.designers_revision(request.user, kit, letter)
    return _carry_out(request, row, revisions.new_draft, "A draft with the same guide. Edit away.")


@may_design
@require_GET
def compare(request, kit, letter, other):
    row = access.designers_revision(request.user, kit, letter)
    against = access.designers_revision(request.user, kit, other)
    older, newer = sorted((row, against), key=lambda revision: (revision.made_at, revision.pk))
    return render(
        request,
        "guides/compare.html",
        {"revision": row, "older": older, "newer": newer, "differences": by_figure(differences(older, newer))},
    )


@may_design
@require_GET
def picture(request, kit, letter, name):
    row = access.designers_revision(request.user, kit, letter)
    found = get_object_or_404(row.pictures, name=name)
    answer = FileResponse(found.file.open("rb"), content_type="image/png" if name.endswith(".png") else "image/jpeg")
    answer["Cache-Control"] = "private, max-age=3600"
    answer["X-Content-Type-Options"] = "nosniff"
    return answer
