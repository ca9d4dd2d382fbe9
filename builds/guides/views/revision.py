"""One revision: read it, send it out, issue, clone, withdraw."""

from django.contrib import messages
from django.http import FileResponse, Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from builds.accounts.access import may_design
from builds.accounts.limits import limited
from builds.guides import access, revisions
from builds.guides.circuit.stored import attach, saved_figures
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file import write_guide, write_zip
from builds.guides.guide_file.compare import by_figure, differences
from builds.guides.objection_texts import objection_sentence
from builds.guides.objections import Level, objections_to
from builds.guides.pictures.saving import unmarked
from builds.ui.drawings.resistor import list_colours
from builds.ui.private_files import private_file

AT_ROWS = ("circuit", "unjoined")  # told at their row although nothing has to be done about them


@may_design
@require_safe
def revision(request, kit, letter):
    row = access.designers_revision(request.user, kit, letter)
    guide = load_guide(row)
    parts = [(part, list_colours(part)) for part in guide.parts.values()]
    return render(
        request,
        "guides/revision.html",
        {
            "is_computed": _attach_figures(row, guide),
            "revision": row,
            "stages": guide.stages,
            "parts": parts,
            "points": guide.probes.points.values(),
            "pictures": guide.pictures.values(),
            "others": row.kit.revisions.exclude(pk=row.pk),
            **_objections_to(row, guide),
        },
    )


def _objections_to(row, guide) -> dict:
    """What stands against issuing a draft; of an issued guide, what it was issued over."""
    if row.is_draft:
        objections = [(o, objection_sentence(o.code, o.params)) for o in objections_to(row, guide)]
        _attach_objections(guide, objections)
        return {
            "blocking": [(o, sentence) for o, sentence in objections if o.level is Level.BLOCKS],
            "serious": [(o, sentence) for o, sentence in objections if o.level is Level.SERIOUS],
            "remarks": [(o, sentence) for o, sentence in objections if o.level is Level.SHOWN],
        }
    over = row.issued_over or {}
    sentences = [objection_sentence(o["code"], o["params"]) for o in over.get("objections", [])]
    return {"issued_over": {"reason": over.get("reason", ""), "sentences": sentences} if over else None}


def _attach_objections(guide, objections) -> None:
    """Give each row of a draft what stands against issuing because of it, to be read there (`against`)."""
    inner = (item for stage in guide.stages for item in stage.items)
    rows = [*guide.parts.values(), *guide.probes.points.values(), *guide.stages, *inner]
    named = {(type(row).__name__.lower(), row.pk): row for row in rows}
    for objection, sentence in objections:
        row = named.get(objection.row)
        if row is not None and (objection.level is not Level.SHOWN or objection.code in AT_ROWS):
            message = objection.params.get("message", sentence)
            row.against = list(dict.fromkeys([*getattr(row, "against", []), message]))


def _attach_figures(row, guide) -> bool:
    """Give a revision's checks their figures of the circuit, where they are computed; are they?"""
    figures = saved_figures(row, guide) if row.is_draft or row.figures_id else None
    attach(row, [c for stage in guide.stages for c in stage.checks.all()], figures.detail["checks"] if figures else {})
    return figures is not None


@may_design
@require_safe
@limited("paper")
def export(request, kit, letter, form):
    row = access.designers_revision(request.user, kit, letter)
    name = f"{row.kit.key}-{row.letter}"
    if form not in ("toml", "zip"):
        raise Http404(_("A guide is exported as guide.toml or guide.zip."))
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
    except revisions.FiguresPending as error:
        messages.info(request, str(error))
        return redirect("guides:circuit", row.kit.key, row.letter)  # which shows how far they are
    except revisions.NotReady as error:
        messages.error(request, str(error))
        return redirect("guides:revision", row.kit.key, row.letter)


@may_design
@require_POST
def issue(request, kit, letter):
    row = access.designers_revision(request.user, kit, letter)
    reason = request.POST.get("reason", "")[:2000]
    done = _("Issued. The guide is frozen now, and builds can be made from it.")
    return _carry_out(request, row, lambda draft: revisions.issue_reviewed(draft, reason), done)


@may_design
@require_POST
def withdraw(request, kit, letter):
    row = access.designers_revision(request.user, kit, letter)
    return _carry_out(request, row, revisions.withdraw, _("Withdrawn. No new builds can be made from this revision."))


@may_design
@require_POST
def clone(request, kit, letter):
    row = access.designers_revision(request.user, kit, letter)
    return _carry_out(request, row, revisions.new_draft, _("This is a new draft with the same guide."))


@may_design
@require_safe
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
@require_safe
def picture(request, kit, letter, name):
    row = access.designers_revision(request.user, kit, letter)
    stored = get_object_or_404(row.pictures, name=name)
    kind = "image/png" if name.endswith(".png") else "image/jpeg"
    if "unmarked" not in request.GET:
        return private_file(request, stored.image, kind)
    try:
        return FileResponse(unmarked(stored), content_type=kind)  # drawn for this answer
    except FileNotFoundError:
        raise Http404(_("The file of this picture is missing.")) from None
