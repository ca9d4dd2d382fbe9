"""A phone that was signed out from elsewhere is told so once, and then forgets the guides it kept for work without a
connection. One whose session ran out keeps them: its builder may stand in a cellar.

What tells the two apart is a session of its own beside the one that was ended: its key is made from that one's, and
nobody is signed in with it.
"""

from datetime import timedelta
from hashlib import sha256
from importlib import import_module

from django.conf import settings

COOKIE = "signed-out"  # read and taken away by static/offline/copy.js
TOLD_FOR = timedelta(days=60)  # a phone keeps its session for half as long


def _note(session_key: str):
    key = sha256(f"signed out {session_key}".encode()).hexdigest()[:32]
    return import_module(settings.SESSION_ENGINE).SessionStore(key)


def note_signed_out(session_key: str) -> None:
    note = _note(session_key)
    if note.exists(note.session_key):
        return
    note.clear()  # else it looks for itself and takes another key
    note["signed out"] = True
    note.set_expiry(TOLD_FOR)
    note.save(must_create=True)


def was_signed_out(session_key: str) -> bool:
    note = _note(session_key)
    return note.exists(note.session_key)


def tell_signed_out(request, answer) -> None:
    """For a browser that comes with a session that is no more."""
    if was_signed_out(request.COOKIES[settings.SESSION_COOKIE_NAME]):
        answer.set_cookie(COOKIE, "1", max_age=TOLD_FOR, samesite="Lax", secure=settings.HTTPS)
