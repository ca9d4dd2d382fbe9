"""Taking back an edit of a draft, and deleting a draft or a kit that nobody builds."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from builds.accounts.access import may_design
from builds.guides import access
from builds.guides.editor.edits import edit_sentence, last_edit, tables_key, undo
from builds.guides.editor.kept_files import pictures_undone
from builds.guides.editor.meanwhile import EditedMeanwhile, edits_since
from builds.guides.editor.removal import delete_draft, is_unused
from builds.guides.guide_file.compare import by_figure, table_differences
from builds.guides.guide_file.import_over import version
from builds.guides.guide_file.write import as_tables
from builds.ui.formatting import listed
from builds.ui.row_numbers import row_number


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def undo_edit(request, kit, letter):
    """What taking back the last edit would change; then do it."""
    draft = access.draft_revision(request.user, kit, letter)
    if request.method == "POST":
        if undo(draft, row_number(request.POST.get("edit", ""))):
            messages.success(request, _("The last edit was undone."))
        else:
            messages.warning(
                request, _("Nothing was undone: the draft was edited again in the meantime. Check it and try again.")
            )
        return redirect("guides:undo", kit, letter)
    edit = last_edit(draft)
    now = as_tables(draft)
    taken, back = pictures_undone(draft, edit.before) if edit else ([], [])
    return render(
        request,
        "guides/undo.html",
        {
            "revision": draft,
            "edit": edit,
            "words": edit_sentence(edit) if edit else "",
            "is_changed_since": edit is not None and edit.after_key != tables_key(now),
            "differences": by_figure(table_differences(now, edit.before)) if edit else [],
            "pictures_taken": listed(taken) if taken else "",
            "pictures_back": listed(back) if back else "",
            "left": draft.edits.count(),
        },
    )


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def delete_revision(request, kit, letter):
    """Delete a draft; with the last of a kit that was never issued, the kit."""
    draft = access.draft_revision(request.user, kit, letter)
    goes_too = is_unused(draft.kit) and draft.kit.revisions.count() == 1
    if request.method == "POST":
        try:
            delete_draft(draft, request.POST.get("version", ""))
        except EditedMeanwhile:
            edits = edits_since(draft, row_number(request.POST.get("edit", "")))
            return _delete_page(request, draft, goes_too, edits)
        messages.success(request, _("Deleted the draft of revision %(letter)s.") % {"letter": letter})
        return redirect("guides:kits")
    return _delete_page(request, draft, goes_too)


def _delete_page(request, draft, goes_too: bool, edits=()):
    """Which draft is about to be deleted; after a stale post with what was edited meanwhile."""
    latest, is_stale = last_edit(draft), request.method == "POST"
    context = {"revision": draft, "kit_too": goes_too, "version": version(draft), "is_stale": is_stale}
    context |= {"edit": latest.pk if latest else 0, "edits": [(edit, edit_sentence(edit)) for edit in edits]}
    return render(request, "guides/delete-draft.html", context, status=409 if is_stale else 200)
