"""Photos and the guide's pictures: served only to those who may see the build."""

from django.http import Http404
from django.shortcuts import get_object_or_404
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from builds.accounts.access import signed_in
from builds.bench import access
from builds.guides.guide_texts import load_guide_in
from builds.guides.pictures.translated import choose_image
from builds.ui.private_files import private_file

SIZES = {"full": "full", "print": "print_copy", "thumb": "thumb"}


@signed_in
@require_safe
def photo(request, pk, photo, size):
    build = access.visible_build(request.user, pk)
    row = get_object_or_404(build.photos, pk=photo)
    if size not in SIZES:
        raise Http404(_("There is no such photo."))
    return private_file(request, getattr(row, SIZES[size]), "image/jpeg")


@signed_in
@require_safe
def picture(request, pk, name):
    build = access.visible_build(request.user, pk)
    row = load_guide_in(build.revision, get_language()).pictures.get(name)
    if row is None:
        raise Http404(_("There is no such picture."))
    kind = "image/png" if name.lower().endswith(".png") else "image/jpeg"
    try:
        return private_file(request, choose_image(row), kind)
    except FileNotFoundError:  # of the upload that its words would be drawn on
        raise Http404(_("The file of this picture is missing.")) from None
