"""Dates and times as people read them: in their language and time zone, which is named beside a time of day."""

from datetime import datetime

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import pgettext


def format_moment(at: datetime, year: bool = False) -> str:
    """A moment with its time zone: "26 Nov, 14:03 CET"; with `year`, "26 Nov 2026, 14:03 CET"."""
    local = timezone.localtime(at)
    # Translators: Django date formats; T is the time zone.
    pattern = pgettext("date format", "j M Y, H:i T") if year else pgettext("date format", "j M, H:i T")
    return date_format(local, pattern)


def format_day(at: datetime) -> str:
    """A day: "26 Nov 2026"."""
    return date_format(timezone.localtime(at) if isinstance(at, datetime) else at, pgettext("date format", "j M Y"))
