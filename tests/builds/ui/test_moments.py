"""Times are shown in the reader's zone and say which it is."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest
from django.template import Context, Template
from django.utils import timezone, translation

AT = datetime(2026, 11, 26, 13, 3, tzinfo=UTC)


def rendered(text, value, zone="Europe/Berlin"):
    with timezone.override(ZoneInfo(zone)):
        return Template("{% load moments %}" + text).render(Context({"at": value}))


@pytest.mark.parametrize(
    ("text", "zone", "shown"),
    [
        ("{{ at|moment }}", "Europe/Berlin", "26 Nov, 14:03 CET"),
        ("{{ at|moment }}", "UTC", "26 Nov, 13:03 UTC"),
        ("{{ at|full_moment }}", "America/New_York", "26 Nov 2026, 08:03 EST"),
        ("{{ at|day }}", "Europe/Berlin", "26 Nov 2026"),
    ],
)
def test_a_moment_is_shown_in_the_readers_zone_and_names_it(text, zone, shown):
    with translation.override("en-gb"):
        assert rendered(text, AT, zone) == shown


def test_a_day_may_be_another_day_where_the_reader_is():
    late = datetime(2026, 11, 26, 23, 30, tzinfo=UTC)
    with translation.override("en-gb"):
        assert rendered("{{ at|day }}", late) == "27 Nov 2026"
        assert rendered("{{ at|day }}", date(2026, 11, 26)) == "26 Nov 2026"


def test_what_is_no_date_is_handed_back():
    assert rendered("{{ at|moment }}", "never") == "never" and rendered("{{ at|day }}", None) == "None"
