"""The release gate of a revision."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from builds.accounts.access import may_design
from builds.guides.access import designers_revision
from builds.review.forms import ReleaseForm
from builds.review.programme.release import judge_release, load_criteria
from builds.review.programme.stages import stage_lines


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def release(request, kit, letter):
    """What must be so before the kit goes on sale, and how far it is so."""
    revision = designers_revision(request.user, kit, letter)
    criteria = load_criteria(revision.kit)
    form = ReleaseForm(request.POST or None, instance=criteria)
    if request.method == "POST" and form.is_valid():
        form.add(revision.kit, request.user)
        messages.success(request, _("Saved. Earlier criteria stay in the list below."))
        return redirect("review:release", kit, letter)
    return render(
        request,
        "review/release.html",
        {
            "revision": revision,
            "form": form,
            "gate": judge_release(revision, stage_lines([revision]), load_criteria(revision.kit)),
            "earlier": revision.kit.release_criteria.select_related("by"),
        },
        status=422 if form.errors else 200,
    )
