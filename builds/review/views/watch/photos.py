"""All builds' photos of one step beside the guide's example, and the steps that have some."""

from django.http import Http404
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from builds.accounts.access import may_design
from builds.guides.access import designers_revision
from builds.guides.guide_cache import load_guide
from builds.review.photo_wall import photo_steps


@may_design
@require_safe
def photos(request, kit, letter):
    """The steps with photos; `stage` in the address filters them."""
    revision = designers_revision(request.user, kit, letter)
    key = request.GET.get("stage", "")
    steps = photo_steps(revision, key)
    return render(
        request,
        "review/photos.html",
        {
            "revision": revision,
            "steps": [entry for entry in steps if entry.photos],
            "awaited": [entry for entry in steps if not entry.photos],
            "stages": load_guide(revision).stages,
            "key": key,
        },
    )


@may_design
@require_safe
def step_photos(request, kit, letter, stage, step):
    revision = designers_revision(request.user, kit, letter)
    steps = photo_steps(revision)
    places = [n for n, entry in enumerate(steps) if (entry.stage.key, entry.step.key) == (stage, step)]
    if not places:
        raise Http404(_("This guide has no such step with photos."))
    at = places[0]
    return render(
        request,
        "review/step-photos.html",
        {
            "revision": revision,
            "entry": steps[at],
            "before": steps[at - 1] if at else None,
            "after": steps[at + 1] if at + 1 < len(steps) else None,
            "number": at + 1,
            "of": len(steps),
        },
    )
