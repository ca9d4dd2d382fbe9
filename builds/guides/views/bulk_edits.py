"""Find and replace in a draft, and copying from another kit."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from builds.accounts.access import may_design
from builds.guides import access
from builds.guides.editor import copying, replacing
from builds.guides.editor.meanwhile import EditedMeanwhile, differences_version
from builds.guides.guide_file.compare import by_figure, table_differences
from builds.guides.guide_file.write import as_tables
from builds.guides.models import Revision
from builds.ui.paging import Pages, page_number
from builds.ui.row_numbers import row_number

LONGEST = 200
ON_A_PAGE = 10  # texts that change: each takes up to a third of a phone's screen, before and after


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def replace(request, kit, letter):
    """What replacing would change; then do it."""
    draft = access.draft_revision(request.user, kit, letter)
    sent = request.POST if request.method == "POST" else request.GET
    find, put = sent.get("find", "")[:LONGEST], sent.get("put", "")[:LONGEST]
    any_case, refused, is_stale = bool(sent.get("any_case")), [], False
    if request.method == "POST" and find:
        try:
            shown = sent.get("version", "")
            replacing.replace_in(draft, request.user, find, put, shown=shown, any_case=any_case)
            messages.success(request, _("Replaced “%(find)s”.") % {"find": find})
            return redirect("guides:revision", kit, letter)
        except replacing.Refused as error:
            refused = error.args[0]
        except EditedMeanwhile:
            is_stale = True
    tables = as_tables(draft)
    changes = table_differences(tables, replacing.replaced(tables, find, put, any_case=any_case))
    context = {"revision": draft, "find": find, "put": put, "any_case": any_case, "refused": refused}
    differences = by_figure(changes)
    asked = [("find", find), ("put", put), ("any_case", "1" if any_case else "")]
    pages = Pages(page_number(request), len(differences), ON_A_PAGE, asked)
    context |= {"differences": pages.of(differences), "pages": pages}
    context |= {"version": differences_version(changes), "is_stale": is_stale}
    return render(request, "guides/replace.html", context, status=409 if is_stale else 422 if refused else 200)


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def copy_from(request, kit, letter):
    """Choose a guide, then what to copy from it."""
    draft = access.draft_revision(request.user, kit, letter)
    others = Revision.objects.designed_by(request.user).exclude(pk=draft.pk).select_related("kit")
    wish = (request.POST if request.method == "POST" else request.GET).get("source", "")
    source = get_object_or_404(others, pk=row_number(wish)) if wish else None
    refused: list[str] = []
    names, target = set(request.POST.getlist("copy")), request.POST.get("target", "")
    with_parts = request.method == "GET" or bool(request.POST.get("with_parts"))
    if request.method == "POST" and source:
        try:
            count = copying.copy_rows(draft, request.user, source, names, target, with_parts=with_parts)
            done = ngettext("Copied %(n)d row.", "Copied %(n)d rows.", count) % {"n": count}
            messages.success(request, done)
            return redirect("guides:revision", kit, letter)
        except copying.Refused as error:
            refused = error.args[0]
    context = {"revision": draft, "others": others.order_by("kit__name", "letter"), "source": source}
    context |= {"refused": refused, "own": draft.stages.all(), "target": target, "with_parts": with_parts}
    context |= {"ticked": names, "ticked_text": " ".join(sorted(names))}
    if source:
        context |= {"theirs": source.stages.prefetch_related("steps", "checks"), "parts": source.parts.all()}
    return render(request, "guides/copy-from.html", context, status=422 if refused else 200)
