"""The language and the time zone of each request: the person's own choice, else what the browser says."""

from zoneinfo import ZoneInfo, available_timezones

from django.conf import settings
from django.utils import timezone, translation

ZONE_COOKIE = "time-zone"  # written by static/time-zone.js
ZONES = frozenset(available_timezones())


def localise(get_response):
    """Middleware, after the one that knows who is signed in: activate their language and time zone."""

    def respond(request):
        person = request.user if request.user.is_authenticated else None
        if person and person.language in dict(settings.LANGUAGES):
            translation.activate(person.language)
            request.LANGUAGE_CODE = person.language
        with timezone.override(ZoneInfo(find_time_zone(person, request.COOKIES.get(ZONE_COOKIE, "")))):
            return get_response(request)

    return respond


def find_time_zone(person, cookie: str) -> str:
    """The name of the time zone in which times are shown."""
    if person and person.time_zone in ZONES:
        return person.time_zone
    return cookie if cookie in ZONES else settings.TIME_ZONE
