"""The parts list of a draft: read from a spreadsheet, and edited as one grid."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from builds.accounts.access import may_design
from builds.accounts.limits import limited
from builds.guides import access
from builds.guides.editor import parts_grid
from builds.guides.editor.edits import row_version
from builds.guides.guide_file import shape
from builds.guides.parts_import.columns import FIELDS
from builds.guides.parts_import.errors import UnreadableFile
from builds.guides.parts_import.preview import build_preview, save_import, sheets_from
from builds.guides.parts_import.sheet import as_text
from builds.guides.parts_import.valve_book import book_types
from builds.ui.drawings.socket import BASES

BLANK = 3  # empty rows under the grid


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
@limited("import")
def parts_import(request, kit, letter):
    """Paste or upload a list, look at what was understood, then save it."""
    draft = access.draft_revision(request.user, kit, letter)
    context = {"revision": draft, "fields": FIELDS.items()}
    if request.method != "POST":
        return render(request, "guides/parts-import.html", context)
    try:
        preview = build_preview(draft, request.POST, sheets_from(request.POST, request.FILES))
    except UnreadableFile as error:
        return render(request, "guides/parts-import.html", context | {"error": str(error)}, status=422)
    if "save" in request.POST and preview.may_save:
        newer = save_import(draft, request.user, request.POST, preview)
        if newer is None:
            count = len(preview.changes)
            done = ngettext("Saved %(n)d change to the parts list.", "Saved %(n)d changes to the parts list.", count)
            messages.success(request, done % {"n": count})
            return redirect("guides:parts-grid", kit, letter)
        preview = newer
    others = [(sheet.name, as_text(sheet.rows), "\n".join(sheet.remarks)) for sheet in preview.others]
    context |= {"preview": preview, "rows_text": as_text(preview.sheet.rows), "others": others}
    return render(request, "guides/parts-import.html", context)


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def grid(request, kit, letter):
    draft = access.draft_revision(request.user, kit, letter)
    state, posted = parts_grid.GridState(), None
    if request.method == "POST":
        state, posted = parts_grid.save_grid(draft, request.user, request.POST)
        if state.is_good:
            messages.success(request, state.saved_sentence)
            return redirect("guides:parts-grid", kit, letter)
    context = {
        "revision": draft,
        "state": state,
        "columns": parts_grid.COLUMNS,
        "rows": _rows(draft, posted, state),
        "kinds": shape.KINDS,
        "bases": BASES,
        "types": book_types(),
    }
    return render(request, "guides/parts-grid.html", context, status=422 if posted is not None else 200)


def _rows(draft, posted, state) -> list[dict]:
    """What the grid shows: the draft's parts, or what was posted and could not be saved."""
    saved = {part["ref"]: parts_grid.list_cells(part) for part in parts_grid.grid_rows(draft)}
    if posted is None:
        shown = [(ref, row_version(cells), False, cells) for ref, cells in saved.items()]
    else:
        shown = [(r.was, _version(r, saved, state), r.is_gone, r.cells) for r in posted]
    shown += [("", "", False, dict.fromkeys(parts_grid.COLUMNS, ""))] * BLANK
    numbers = [r.number for r in posted] if posted is not None else []
    return [_row(n, numbers, line, state) for n, line in enumerate(shown)]


def _version(row, saved, state) -> str:
    """After a clash the row goes on from what is saved by now: saving again keeps this person's cells."""
    return row_version(saved[row.was]) if row.number in state.clashes and row.was in saved else row.version


def _row(n: int, numbers, line, state) -> dict:
    was, version, is_gone, cells = line
    number = numbers[n] if n < len(numbers) else None
    errors = state.errors.get(number, {})
    shown = [
        {
            "name": name,
            "value": cell,
            "errors": errors.get(name, []),
            "is_used": parts_grid.uses(cells["kind"], name) or bool(cell),
        }
        for name, cell in cells.items()
    ]
    clash = state.clashes.get(number, []) if number is not None else []
    if clash and was and was not in {c["value"] for c in shown if c["name"] == "ref"} and clash[0].typed == was:
        was = ""
    return {"number": n, "was": was, "version": version, "is_gone": is_gone, "cells": shown, "clashes": clash}
