"""What could not be written: the page that says so, and the word to the site's owner."""

import errno
import logging
import time
from threading import Thread
from typing import Any

from django.core.mail import mail_admins
from django.db import InternalError, OperationalError
from django.http import HttpResponse
from django.template.loader import render_to_string
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

# A locked, full or read-only database; PostgreSQL tells the last one as an internal error.
WRITE_ERRORS = (OperationalError, InternalError, OSError)
FULL = {errno.ENOSPC, errno.EDQUOT, errno.EROFS, errno.EIO}
ONE_BY_ONE = "photo"  # the field of a form whose files are saved one by one, where its view counts them
WARN_EVERY = 3600  # s between two letters of one process
log = logging.getLogger("builds.storage")
_warned_at = [float("-inf")]


def report_unsaved_writes(get_response):
    """Middleware: a write that failed is answered by a page that says so, not as an error of the site."""

    def respond(request):
        return get_response(request)

    def process_exception(request, exception):
        if not is_of_storage(exception):
            return None
        log.critical("not saved: %s", exception, exc_info=exception)
        warn_owner(exception)
        return not_saved(request)

    middleware: Any = respond
    middleware.process_exception = process_exception
    return middleware


def is_of_storage(exception: Exception) -> bool:
    is_full = isinstance(exception, OSError) and exception.errno in FULL
    return is_full or isinstance(exception, (OperationalError, InternalError))


def not_saved(request):
    """Nothing of a form is written before all of it can be; only photos of a step, a check or a stage are saved one by
    one, and their view counts them."""
    if request.method == "POST":
        heading, text = _("Not saved"), _what_was_saved(request)
    else:
        heading = _("Not available now")
        text = _("The site cannot read or write its data at the moment. Try again in a few minutes.")
    context = {"heading": heading, "words": text}
    # Without the request: to ask who is signed in may fail like what has just failed.
    return HttpResponse(render_to_string("accounts/not-saved.html", context), status=503)


def _what_was_saved(request) -> str:
    saved = len(getattr(request, "photos_saved", ()))
    if not saved:
        return _("Nothing you sent was saved. Note it down, go back, and send it again in a few minutes.")
    sent = len(request.FILES.getlist(ONE_BY_ONE))
    if saved == sent:
        return ngettext(
            "Your photo was saved. Something else went wrong: go back and reload the page in a few minutes.",
            "Your %(sent)d photos were saved. Something else went wrong: go back and reload the page in a few minutes.",
            sent,
        ) % {"sent": sent}
    return _(
        "%(saved)d of your %(sent)d photos were saved before the problem. Go back, reload the page and send the others "
        "again in a few minutes."
    ) % {"saved": saved, "sent": sent}


def warn_owner(error: Exception) -> None:
    """Write to the site's owner, past the outbox, which is in the same database; once an hour a process at most."""
    now = time.monotonic()
    if now - _warned_at[0] < WARN_EVERY:
        return
    _warned_at[0] = now
    text = (
        "The site could not write. Readings and photos sent now are not saved; the senders see a message.\n\n"
        f"The error: {error}\n\nIs the disk full or read-only, or the database held by another process?\n"
        "`manage.py doctor` looks at the database, the photos and the space left."
    )
    Thread(target=_send, args=(text,), daemon=True).start()


def _send(text: str) -> None:
    try:
        mail_admins("The kit builds cannot be written", text)
    except Exception:
        log.exception("the owner could not be warned")
