"""Limits on what costs much or is guessed at: so many calls in a span of time, by one key, counted in the database."""

import hashlib
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import wraps
from math import ceil
from typing import Any

from django.db import DatabaseError, IntegrityError, transaction
from django.db.models import F
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from builds.accounts.client_address import counted_address
from builds.accounts.models import CallCount


@dataclass(frozen=True)
class Limit:
    most: int
    span: timedelta
    looks: bool = False  # what costs is to look: a GET or HEAD counts like a POST


LIMITS = {
    "sign-in address": Limit(100, timedelta(minutes=15)),  # a club may sit behind one address
    "sign-in name": Limit(30, timedelta(minutes=15)),  # from devices that were not seen before
    "code": Limit(20, timedelta(minutes=15)),
    "reset address": Limit(20, timedelta(hours=1)),
    "confirm": Limit(5, timedelta(hours=1)),  # the address may be somebody else's
    "upload": Limit(300, timedelta(hours=1)),
    "import": Limit(60, timedelta(hours=1)),
    "compute": Limit(120, timedelta(hours=1)),
    "archive": Limit(20, timedelta(hours=1)),
    "paper": Limit(300, timedelta(hours=1), looks=True),  # PDFs and exports
    "drawing": Limit(1500, timedelta(hours=1)),  # while somebody types
    "api": Limit(3000, timedelta(hours=1)),
}


def is_allowed(kind: str, key: str) -> bool:
    """Count one call and say whether it is within its limit."""
    limit = LIMITS[kind]
    row = {"kind": kind, "key": hashlib.sha256(key.encode()).hexdigest(), "span": _span(limit)}
    try:
        with transaction.atomic():
            if not CallCount.objects.filter(**row).update(count=F("count") + 1):
                CallCount.objects.create(**row)
                return True
    except IntegrityError:  # counted by another at the same moment
        CallCount.objects.filter(**row).update(count=F("count") + 1)
    except DatabaseError:  # nothing can be written now: to count is not worth refusing for
        return True
    count = CallCount.objects.filter(**row).values_list("count", flat=True).first()
    return count is None or count <= limit.most  # none: deleted at that moment


def _span(limit: Limit) -> datetime:
    """When the span of time began in which calls are counted together now."""
    seconds = limit.span.total_seconds()
    return datetime.fromtimestamp(timezone.now().timestamp() // seconds * seconds, UTC)


def limited(kind: str):
    """Mark a view whose posts are counted by person (by address, for somebody not signed in)."""
    methods = ("GET", "HEAD", "POST") if LIMITS[kind].looks else ("POST",)

    def mark(view):
        @wraps(view)
        def counted(request, *args, **kwargs):
            key = str(request.user.pk) if request.user.is_authenticated else counted_address(request)
            if request.method in methods and not is_allowed(kind, key):
                return too_many(request, kind)
            return view(request, *args, **kwargs)

        marked: Any = counted
        marked.limit = kind
        return marked

    return mark


def too_many(request, kind: str):
    """How long to wait is said in words and in the header that programs read (RFC 9110, 10.2.3)."""
    seconds = (_span(LIMITS[kind]) + LIMITS[kind].span - timezone.now()).total_seconds()
    minutes = max(1, ceil(seconds / 60))
    text = ngettext(
        "Too many requests in a short time. Nothing was saved. Wait %(minutes)d minute.",
        "Too many requests in a short time. Nothing was saved. Wait %(minutes)d minutes.",
        minutes,
    ) % {"minutes": minutes}
    context = {"heading": _("Too many requests"), "words": text}
    answer = render(request, "accounts/error.html", context, status=429)
    answer["Retry-After"] = str(minutes * 60)
    return answer


def prune(before: datetime) -> int:
    return CallCount.objects.filter(span__lt=before).delete()[0]
