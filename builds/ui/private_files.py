"""Answers that are somebody's photo or picture, shown in a page."""

from hashlib import sha256

from django.http import FileResponse, Http404
from django.utils.cache import get_conditional_response
from django.utils.translation import gettext as _


def private_file(request, file, content_type):
    """The file for those who may see it, asked for anew each time: what was shown may have been withdrawn since. An
    unchanged one is not sent again."""
    if not file:
        raise Http404(_("The file of this picture is missing."))
    etag = f'"{sha256(file.name.encode()).hexdigest()[:32]}"'  # a file is never changed under its name
    answer = get_conditional_response(request, etag=etag) or _serve_whole(file, content_type)
    answer["ETag"] = etag
    answer["Cache-Control"] = "private, no-cache"
    answer["X-Content-Type-Options"] = "nosniff"
    return answer


def _serve_whole(file, content_type) -> FileResponse:
    try:
        return FileResponse(file.open("rb"), content_type=content_type)
    except FileNotFoundError:
        raise Http404(_("The file of this picture is missing.")) from None
