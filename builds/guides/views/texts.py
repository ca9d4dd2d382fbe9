"""The guide's text read from a document: shown stage by stage to be corrected, then saved."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from builds.accounts.access import may_design
from builds.accounts.limits import limited
from builds.guides import access
from builds.guides.editor.text_form import build_preview, lacks_a_band, plan_for
from builds.guides.guide_file.write import as_tables
from builds.guides.models import MEASURES
from builds.guides.parts_import.errors import UnreadableFile
from builds.guides.text_import.documents import read_document, read_text
from builds.guides.text_import.save import Refused, save_plan
from builds.guides.text_import.uploads import forget_upload, store_upload, stored_upload
from builds.ui.messages.quantities import measure_label


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
@limited("import")
def text_import(request, kit, letter):
    draft = access.draft_revision(request.user, kit, letter)
    context = {"revision": draft}
    if request.method != "POST":
        return render(request, "guides/text-import.html", context)
    try:
        outline, carried = _outline(request, draft)
    except UnreadableFile as error:
        return render(request, "guides/text-import.html", context | {"error": str(error)}, status=422)
    tables = as_tables(draft)
    plan = plan_for(draft, tables, outline, request.POST)
    refused: list[str] = []
    if "save" in request.POST and lacks_a_band(plan):
        refused = [_("Some figures have no tolerance. Give one for all of them below, or one in each row.")]
    elif "save" in request.POST and plan.stages:
        try:
            if not save_plan(draft, request.user, plan, outline.pictures, request.POST.get("draft", "")):
                forget_upload(draft, carried.get("token", ""))
                messages.success(request, _("Saved the text as stages of this draft."))
                return redirect("guides:revision", kit, letter)
            refused = [
                _("The draft was edited elsewhere in the meantime. Look at what would change now, and save again.")
            ]
            tables = as_tables(draft)
        except Refused as error:
            refused = error.args[0]
    context |= {
        "preview": build_preview(draft, tables, plan, outline),
        "refused": refused,
        "measures": [(m, measure_label(m)) for m in MEASURES],
        **carried,
    }
    return render(request, "guides/text-import.html", context, status=422 if refused else 200)


def _outline(request, draft):
    """(the document's outline, what the form carries to the next page)."""
    if "file" in request.FILES:
        raw = request.FILES["file"].read()
        outline = read_document(raw)
        return outline, {"token": store_upload(draft, raw)}
    if token := request.POST.get("token", ""):
        return read_document(stored_upload(draft, token)), {"token": token}
    text = request.POST.get("paste", "")
    return read_text(text), {"paste": text}
