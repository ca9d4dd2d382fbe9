"""Browsers that somebody signed in with before: a signed cookie says whose, with and without a session."""

from django.conf import settings
from django.contrib.auth import SESSION_KEY
from django.core import signing
from django.http import parse_cookie

from builds.accounts.ended import tell_signed_out

SEEN = "seen"  # the cookie
SEEN_FOR = 365 * 24 * 3600


def has_signed_in_here(request, key: str) -> bool:
    """Has the person of this name signed in from this browser before?"""
    return _whose(request.COOKIES.get(SEEN, "")) == key


def is_known(cookies: str) -> bool:
    """Has anybody signed in from the browser of this Cookie header? Told by the signature, without the database."""
    return bool(_whose(parse_cookie(cookies).get(SEEN, "")))


def _whose(value: str) -> str:
    try:
        return str(signing.loads(value, salt=SEEN, max_age=SEEN_FOR))
    except (signing.BadSignature, ValueError):
        return ""


def remember_person(answer, person):
    value = signing.dumps(person.name_key, salt=SEEN)
    answer.set_cookie(SEEN, value, max_age=SEEN_FOR, httponly=True, samesite="Lax", secure=settings.HTTPS)
    return answer


def remember_browsers(get_response):
    """Middleware: whoever is signed in without the cookie is given it, since large uploads are taken from browsers that
    are known only (operations/server.py). A browser whose session is no more may be told that it was signed out."""

    def respond(request):
        answer = get_response(request)
        if SEEN not in request.COOKIES and SEEN not in answer.cookies and _has_session(request):
            remember_person(answer, request.user)
        session = request.session
        if settings.SESSION_COOKIE_NAME in request.COOKIES and session.accessed and session.is_empty():
            tell_signed_out(request, answer)
        return answer

    return respond


def _has_session(request) -> bool:
    """Signed in by a session; a program's token is none."""
    return request.user.is_authenticated and SESSION_KEY in request.session
