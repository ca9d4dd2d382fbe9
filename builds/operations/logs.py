"""Logs as one JSON object a line, each with the number of the request it belongs to; who asked for what; and what
concerns security."""

import json
import logging
import re
import time
from contextvars import ContextVar
from datetime import UTC, datetime
from uuid import uuid4

from django.contrib.auth.signals import user_login_failed
from django.dispatch import receiver

_request: ContextVar[str] = ContextVar("request", default="")
_GIVEN = re.compile(r"[A-Za-z0-9._-]{8,64}")
_SECRET = re.compile(r"(/(?:invitation|confirm|stop)/)[^/?\s]+")  # tests/builds/operations/test_secret_links.py
access = logging.getLogger("builds.access")
security = logging.getLogger("builds.security")


class JsonLines(logging.Formatter):
    def format(self, record: logging.LogRecord) -> str:
        line = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "logger": record.name,
            "request": _request.get(),
            "message": record.getMessage(),
            **getattr(record, "facts", {}),
        }
        if record.exc_info:
            line["error"] = self.formatException(record.exc_info)
        return json.dumps(line, ensure_ascii=False)


class HideTokens(logging.Filter):
    """Django's own lines name the address of what they refuse, and a link that was refused once may open the next time:
    an invitation whose form has a mistake in it."""

    def filter(self, record: logging.LogRecord) -> bool:
        args = record.args if isinstance(record.args, tuple) else ()
        if any(isinstance(arg, str) and _SECRET.search(arg) for arg in args):
            record.args = tuple(_SECRET.sub(r"\1…", arg) if isinstance(arg, str) else arg for arg in args)
        return True


def number_requests(get_response):
    """Middleware: give each request a number, the proxy's where it gave one, and log what it came to."""

    def respond(request):
        given = request.headers.get("X-Request-ID", "")
        number = given if _GIVEN.fullmatch(given) else uuid4().hex
        token, began = _request.set(number), time.perf_counter()
        try:
            answer = get_response(request)
            answer["X-Request-ID"] = number
            _log(request, answer, began)
            return answer
        finally:
            _request.reset(token)

    return respond


def _log(request, answer, began: float) -> None:
    """By the name of the address, not the address: links of invitations are secrets."""
    match = getattr(request, "resolver_match", None)
    user = getattr(request, "user", None)
    facts = {
        "method": request.method,
        "view": match.view_name if match else "",
        "status": answer.status_code,
        "ms": round(1000 * (time.perf_counter() - began), 1),
        "person": user.pk if user is not None and user.is_authenticated else None,
        "address": request.META.get("REMOTE_ADDR", ""),
    }
    access.info("%s %s %s", request.method, facts["view"], answer.status_code, extra={"facts": facts})
    if answer.status_code in (403, 429, 413):
        security.warning("refused", extra={"facts": facts})


@receiver(user_login_failed)
def note_failure(sender, credentials, request=None, **_more):
    address = request.META.get("REMOTE_ADDR", "") if request else ""
    security.warning("sign-in failed", extra={"facts": {"address": address}})
