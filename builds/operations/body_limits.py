"""Bodies are refused by their length before they are read: nobody fills the disk or the memory with one."""

from django.conf import settings
from django.shortcuts import render
from django.utils.translation import gettext as _

PLAIN = 6 * 2**20  # a form without files
ANONYMOUS = 2**16  # whoever has not signed in, and programs: no form of theirs is larger


def limit_bodies(get_response):
    """Middleware, after the one that knows who is signed in and before anything reads the body."""

    def respond(request):
        length = request.META.get("CONTENT_LENGTH") or "0"
        is_number = length.isascii() and length.isdigit()
        size = int(length[:15]) if is_number else 0
        if not is_number or size > ANONYMOUS and size > most_bytes(request):  # nobody is limited to less
            page = {"heading": _("Too large"), "words": refusal_text(request)}
            return render(request, "accounts/error.html", page, status=413)
        return get_response(request)

    return respond


def most_bytes(request) -> int:
    if not request.user.is_authenticated:
        return ANONYMOUS
    return settings.BODY_MAX_BYTES if request.content_type == "multipart/form-data" else PLAIN


def refusal_text(request) -> str:
    """What is accepted instead, and that nothing typed is lost: the browser keeps the form behind its Back."""
    if not request.user.is_authenticated:
        return _(
            "Nothing was saved. Without signing in you can send short forms only. Sign in, go back to your form, "
            "where what you typed is still there, and send it again."
        )
    if request.content_type == "multipart/form-data":
        return _(
            "Nothing was saved. The site accepts %(all)d MB at once, such as twelve photos of %(each)d MB each. Go "
            "back to your form, where what you typed is still there, and send fewer or smaller files."
        ) % {"all": settings.BODY_MAX_BYTES // 2**20, "each": settings.PHOTO_MAX_BYTES // 2**20}
    return _(
        "Nothing was saved. The site accepts %(all)d MB in a form without files. Go back to your form, where what you "
        "typed is still there, and shorten it."
    ) % {"all": PLAIN // 2**20}
