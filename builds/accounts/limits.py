"""Limits on what costs much or is guessed at: so many calls in a span of time, by one key, counted in the database."""

import hashlib
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import wraps

from django.db import DatabaseError, IntegrityError, transaction
from django.db.models import F
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _

from builds.accounts.models import CallCount


@dataclass(frozen=True)
class Limit:
    most: int
    span: timedelta


LIMITS = {
    "sign-in address": Limit(100, timedelta(minutes=15)),  # a club may sit behind one address
    "sign-in name": Limit(30, timedelta(minutes=15)),  # from devices that were not seen before
    "code": Limit(20, timedelta(minutes=15)),
    "reset address": Limit(20, timedelta(hours=1)),
    "upload": Limit(300, timedelta(hours=1)),
    "import": Limit(60, timedelta(hours=1)),
    "compute": Limit(120, timedelta(hours=1)),
    "archive": Limit(20, timedelta(hours=1)),
    "api": Limit(3000, timedelta(hours=1)),
}


def is_allowed(kind: str, key: str) -> bool:
    """Count one call and say whether it is within its limit."""
    limit = LIMITS[kind]
    seconds = limit.span.total_seconds()
    span = datetime.fromtimestamp(timezone.now().timestamp() // seconds * seconds, UTC)
    row = {"kind": kind, "key": hashlib.sha256(key.encode()).hexdigest(), "span": span}
    try:
        with transaction.atomic():
            if not CallCount.objects.filter(**row).update(count=F("count") + 1):
                CallCount.objects.create(**row)
                return True
    except IntegrityError:  # counted by another at the same moment
        CallCount.objects.filter(**row).update(count=F("count") + 1)
    except DatabaseError:  # nothing can be written now: to count is not worth refusing for
        return True
    return CallCount.objects.get(**row).count <= limit.most


def limited(kind: str):
    """Mark a view whose posts are counted by person (by address, for somebody not signed in)."""

    def mark(view):
        @wraps(view)
        def counted(request, *args, **kwargs):
            key = str(request.user.pk) if request.user.is_authenticated else request.META.get("REMOTE_ADDR", "")
            if request.method == "POST" and not is_allowed(kind, key):
                return too_many(request)
            return view(request, *args, **kwargs)

        return counted

    return mark


def too_many(request):
    words = _("Too many requests in a short time. Nothing was saved. Wait 15 minutes.")
    return render(request, "accounts/error.html", {"heading": _("Too many requests"), "words": words}, status=429)


def prune(before: datetime) -> int:
    return CallCount.objects.filter(span__lt=before).delete()[0]
