"""What the site dealt with, told to the page that follows: a form without an outbox is let go of only then.

An error page of a proxy, a sign-in that came in between or an answer that never arrived says nothing of the kind.
"""

import re

from django.conf import settings
from django.urls import reverse

ANSWERED = "answered"  # the cookie: keys of the latest forms
REMEMBERED, HOUR = 5, 3600
KEY = re.compile(r"[0-9a-f-]{36}")


def mark_answered_forms(get_response):
    """Middleware: name the form that was saved, or whose page says what is wrong with it."""

    def respond(request):
        answer = get_response(request)
        posted = getattr(request, "_post", None)  # only where the body was read: reading it now could hang
        key = posted.get("sent_as", "") if posted else ""
        if KEY.fullmatch(key) and is_answered(answer):
            before = [each for each in request.COOKIES.get(ANSWERED, "").split(".") if KEY.fullmatch(each)]
            keys = ".".join([*before, key][-REMEMBERED:])
            answer.set_cookie(ANSWERED, keys, max_age=HOUR, samesite="Lax", secure=settings.HTTPS)
        return answer

    return respond


def is_answered(answer) -> bool:
    """Saved, or shown again with its errors; not refused, broken or sent to sign in first."""
    if answer.status_code in (301, 302, 303):
        return not answer["Location"].startswith(reverse("accounts:sign-in"))
    return answer.status_code < 400 or answer.status_code in (409, 422)
