"""The designer's search of a guide: it lands at the row in the editor, or in the guide of an issued revision."""

from django.shortcuts import render
from django.utils.translation import get_language
from django.views.decorators.http import require_safe

from builds.accounts.access import may_design
from builds.guides import access
from builds.guides.find import find
from builds.guides.guide_cache import load_guide
from builds.guides.guide_texts import load_guide_in

LONGEST = 80


@may_design
@require_safe
def find_rows(request, kit, letter):
    revision = access.designers_revision(request.user, kit, letter)
    query = request.GET.get("q", "")[:LONGEST]
    guide = load_guide(revision) if revision.is_draft else load_guide_in(revision, get_language())
    context = {"revision": revision, "query": query, "hits": find(guide, query)}
    return render(request, "guides/find.html", context)
