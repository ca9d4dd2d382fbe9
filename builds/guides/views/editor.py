"""The web editor of a draft: add, edit, move and delete rows, and see the builder's page beside."""

import re

from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from builds.accounts.access import may_design
from builds.accounts.cautions import cautions_for
from builds.guides import access
from builds.guides.circuit.model_comparison import compare_check
from builds.guides.circuit.stored import attach, saved_figures
from builds.guides.circuit.take_figure import shown_version
from builds.guides.editor import conflicts, meanwhile, rows
from builds.guides.editor.edits import one_edit, row_version
from builds.guides.editor.forms import FORMS, HeadForm
from builds.guides.editor.renaming import NAMED, follow_name
from builds.guides.feeding import setting_sentences
from builds.guides.figures import band_for
from builds.guides.guide_file.write import as_tables
from builds.guides.probes import ProbeMap, marked


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def head(request, kit, letter):
    draft = access.draft_revision(request.user, kit, letter)
    if request.method != "POST":
        return _head_page(request, draft, HeadForm(None, instance=draft), conflicts.find_version("guide", draft))
    with one_edit(draft, request.user, "guide"):
        draft = access.draft_revision(request.user, kit, letter)  # as it is now that nobody else can edit
        version, form = conflicts.find_version("guide", draft), HeadForm(request.POST, instance=draft)
        clashes = conflicts.clashes(form, "guide", version)
        if conflicts.is_versioned(form) and not clashes and form.is_valid():
            form.save()
            return redirect("guides:revision", kit, letter)
    return _head_page(request, draft, form, version, clashes)


def _head_page(request, draft, form, version, clashes=()):
    return render(
        request,
        "guides/edit.html",
        {
            "revision": draft,
            "form": form,
            "version": version,
            "clashes": clashes,
            "kind": "guide",
            "heading": _("Edit name and mains"),
            "save": _("Save name and mains"),
            "back": reverse("guides:revision", args=[draft.kit.key, draft.letter]),
        },
        status=conflicts.find_http_status(request, clashes),
    )


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def add(request, kit, letter, kind, stage=""):
    draft = access.draft_revision(request.user, kit, letter)
    siblings, parent = rows.list_siblings(draft, kind, stage), rows.find_parent(draft, kind, stage)
    form = FORMS[kind](request.POST or None, instance=rows.KINDS[kind](**parent), siblings=siblings)
    if request.method == "POST" and form.is_valid():
        with one_edit(draft, request.user, "add", str(form.instance)):
            made = rows.append(form.save(commit=False), siblings)
        messages.success(request, _("Added %(row)s.") % {"row": rows.row_name(kind, made)})
        return _back(draft, kind, made)
    return _form_page(request, draft, kind, form, stage)


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def edit(request, kit, letter, kind, pk, stage=""):
    draft = access.draft_revision(request.user, kit, letter)
    siblings = rows.list_siblings(draft, kind, stage)
    if request.method != "POST":
        row = get_object_or_404(siblings, pk=pk)
        form = FORMS[kind](None, instance=row, siblings=siblings)
        return _form_page(request, draft, kind, form, stage, conflicts.find_version(kind, row))
    with one_edit(draft, request.user, "edit", rows.row_name(kind, get_object_or_404(siblings, pk=pk))):
        row = get_object_or_404(siblings, pk=pk)  # as it is now that nobody else can edit
        name = getattr(row, NAMED[kind])
        version, form = conflicts.find_version(kind, row), FORMS[kind](request.POST, instance=row, siblings=siblings)
        clashes = conflicts.clashes(form, kind, version)
        if conflicts.is_versioned(form) and not clashes and form.is_valid():
            form.save()
            follow_name(draft, kind, name, getattr(row, NAMED[kind]), stage)
            messages.success(request, _("Saved %(row)s.") % {"row": rows.row_name(kind, row)})
            return _back(draft, kind, row)
    return _form_page(request, draft, kind, form, stage, version, clashes)


@may_design
@require_POST
def move(request, kit, letter, kind, pk, stage=""):
    draft = access.draft_revision(request.user, kit, letter)
    siblings = rows.list_siblings(draft, kind, stage)
    row = get_object_or_404(siblings, pk=pk)
    try:
        with one_edit(draft, request.user, "move", rows.row_name(kind, row)):
            rows.move(row, siblings, _places(request.POST.get("to", "down")))
    except rows.SharedKey as error:
        messages.error(
            request,
            _("A step and a check of this stage are both called “%(key)s”. Give one of them another short name first.")
            % {"key": error},
        )
    return _back(draft, kind, row)


def _places(wish: str) -> int:
    """How many places down: up, down, or a number (from dragging)."""
    if re.fullmatch(r"-?[0-9]{1,6}", wish):
        return max(-999, min(999, int(wish)))
    return -1 if wish == "up" else 1


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def delete(request, kit, letter, kind, pk, stage=""):
    draft = access.draft_revision(request.user, kit, letter)
    siblings = rows.list_siblings(draft, kind, stage)
    row = get_object_or_404(siblings, pk=pk)
    if request.method != "POST":
        return _delete_page(request, draft, kind, row, meanwhile.row_piece(as_tables(draft), kind, row))
    name, seen = rows.row_name(kind, row), request.POST.get("version", "")
    with one_edit(draft, request.user, "delete", name) as tables:
        row = get_object_or_404(siblings, pk=pk)  # as it is now that nobody else can edit
        piece = meanwhile.row_piece(tables, kind, row)
        is_as_seen = row_version(piece) == seen
        if is_as_seen:
            rows.remove(row, siblings)
    if not is_as_seen:
        return _delete_page(request, draft, kind, row, piece, meanwhile.changes_since(draft, kind, piece, seen))
    messages.success(request, _("Deleted %(row)s.") % {"row": name})
    return _back(draft, kind, None)


def _delete_page(request, draft, kind, row, piece, differences=()):
    """What is about to be deleted; after a stale post with what was edited meanwhile."""
    is_stale = request.method == "POST"
    context = {"revision": draft, "kind": kind, "row": row, "name": rows.row_name(kind, row)}
    context |= {"version": row_version(piece), "is_stale": is_stale, "differences": differences}
    return render(request, "guides/delete.html", context, status=409 if is_stale else 200)


@may_design
@require_safe
def preview(request, kit, letter, stage):
    """The builder's page of a stage, as it stands now; the editor shows it beside the form."""
    revision = access.designers_revision(request.user, kit, letter)
    row = get_object_or_404(revision.stages.prefetch_related("steps", "checks"), key=stage)
    probes = ProbeMap.of(revision)
    pictures = {picture.name: picture for picture in revision.pictures.all()}
    attach(revision, list(row.checks.all()))
    parts = {part.ref: part for part in revision.parts.all()} if row.settings else None
    template = "guides/_preview.html" if request.htmx else "guides/preview.html"
    return render(
        request,
        template,
        {
            "revision": revision,
            "stage": row,
            "items": _previews(row.items, probes, pictures),
            "cautions": cautions_for(row.cautions),
            "to_set": setting_sentences(row, parts=parts),
        },
    )


@may_design
@require_POST
def preview_row(request, kit, letter, stage, kind):
    """A step or check as the builder would see it with what is typed now; nothing is saved."""
    draft = access.draft_revision(request.user, kit, letter)
    if kind not in rows.INNER:
        raise Http404(_("Only steps and checks have a preview."))
    parent = rows.find_parent(draft, kind, stage)
    siblings = rows.list_siblings(draft, kind, stage)
    row = siblings.filter(key=request.POST.get("key", "")).first() or rows.KINDS[kind](**parent)
    form = FORMS[kind](request.POST, instance=row, siblings=siblings)
    context = {"revision": draft, "form": form, "stage": parent["stage"], "items": []}
    if form.is_valid():
        pictures = {picture.name: picture for picture in draft.pictures.all()}
        context["items"] = _previews([form.save(commit=False)], ProbeMap.of(draft), pictures)
    return render(request, "guides/_preview_row.html", context)


def _previews(items, probes, pictures) -> list[dict]:
    """Steps with their numbers, and checks with their probe points, band, and the picture that shows the point."""
    rows, steps = [], 0
    for item in items:
        if item.is_check:
            red, black = probes.pair(item)
            shown = marked(item, red, pictures)
            rows.append({"check": item, "red": red, "black": black, "band": band_for(item), "shown": shown})
        else:
            steps += 1
            rows.append({"step": item, "number": item.position or steps})
    return rows


def _form_page(request, draft, kind, form, stage, version="", clashes=()):
    model = figures = None
    if kind == "check" and form.instance.pk:
        figures = saved_figures(draft)
        model = compare_check(form.instance, figures.detail if figures else None)
    # `instance` has been filled from the post, so the stage whose page is previewed is asked of the address.
    return render(
        request,
        "guides/edit.html",
        {
            "revision": draft,
            "kind": kind,
            "heading": _heading(kind, form.instance),
            "save": _save_label(kind),
            "form": form,
            "version": version,
            "clashes": clashes,
            "back": _place(draft, kind, form.instance),
            "check": form.instance,
            "figures": figures,
            "take_version": shown_version(version, figures),
            "model": model,
            "stage_key": stage or (form.initial.get("key") if kind == "stage" else ""),
        },
        status=conflicts.find_http_status(request, clashes),
    )


def _heading(kind, row) -> str:
    if row.pk:
        return _("Edit %(row)s") % {"row": rows.row_name(kind, row)}
    return {
        "stage": _("Add a stage"),
        "step": _("Add a step"),
        "check": _("Add a check"),
        "part": _("Add a part"),
        "point": _("Add a point"),
    }[kind]


def _save_label(kind: str) -> str:
    return {
        "stage": _("Save stage"),
        "step": _("Save step"),
        "check": _("Save check"),
        "part": _("Save part"),
        "point": _("Save point"),
    }[kind]


def _place(draft, kind, row) -> str:
    """The guide's page, at the row if it is there."""
    page = reverse("guides:revision", args=[draft.kit.key, draft.letter])
    return f"{page}#{kind}-{row.pk}" if row is not None and row.pk else page


def _back(draft, kind, row):
    return redirect(_place(draft, kind, row))
