"""One photo of one's own build: seen large, and withdrawn."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from builds.accounts.access import signed_in
from builds.bench import access
from builds.bench.photos.withdrawing import withdraw


def _find_own_photo(request, pk, photo):
    build = access.own_build(request.user, pk)
    rows = build.photos.select_related("stage", "step", "check_row", "snag", "build__revision")
    return build, get_object_or_404(rows, pk=photo)


def find_place(photo) -> str:
    """The page, and the place on it, that a photo is shown at."""
    build, stage = photo.build_id, photo.stage.key
    if photo.snag_id:
        return reverse("bench:snag", args=[build, photo.snag_id])
    if photo.check_row_id:
        return reverse("bench:check", args=[build, stage, photo.check_row.key]) + "#photos"
    mark = f"#step-{photo.step.key}" if photo.step_id else "#photos"
    return reverse("bench:stage", args=[build, stage]) + mark


@signed_in
@require_safe
def own_photo(request, pk, photo):
    build, row = _find_own_photo(request, pk, photo)
    return render(request, "bench/own-photo.html", {"build": build, "photo": row, "back": find_place(row)})


@signed_in
@require_POST
def withdraw_photo(request, pk, photo):
    """What was signed off stays as it was: the designer decides on a photo of a closed record."""
    build, row = _find_own_photo(request, pk, photo)
    if build.finished_at:
        messages.error(
            request, _("This build is signed off and its record is closed. Ask the designer about the photo.")
        )
        return redirect("bench:own-photo", build.pk, row.pk)
    is_open_again = withdraw(row)
    messages.success(
        request, _("Photo withdrawn. Its files are deleted; the record only shows that there was a photo.")
    )
    if is_open_again:
        messages.warning(request, _("This step needs a photo. Its stage is open again until you upload another."))
    return redirect(find_place(row))
