"""A check's page: offsets in band-widths and plain words, first and last attempts apart."""

import pytest
from django.urls import reverse

from builds.guides.figures import band_for
from builds.review.statistics import statistics
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def revision():
    """Five builds against 300 V ± 10 %: all 345 V at first, 306 V in the end."""
    made = factories.make_revision(stages=1, checks=1)
    check = factories.checks_of(revision=made)[0]
    for _ in range(5):
        factories.add_readings(
            rows=[(factories.make_build(revision=made), check, [(345.0, "out of band"), (306.0, "in band")])]
        )
    return made


def test_first_and_last_attempts_have_their_own_offset(revision):
    check = factories.checks_of(revision=revision)[0]
    figures = statistics(
        check, band_for(check), list(check.readings.select_related("build").order_by("build__serial", "attempt")), 0
    )
    # A band-width is 60 V: 45 V are three quarters of it, 6 V a tenth; the limit is 30 V away.
    assert (figures["first_off"].widths, figures["first_off"].distance) == (
        "+0.75",
        "1.5 times as far from it as the limit",
    )
    assert (figures["last_off"].widths, figures["last_off"].distance) == ("+0.10", "0.2 of the way to the limit")


@pytest.mark.lengthy
def test_the_page_says_so_in_plain_words(client, revision):
    client.force_login(revision.kit.designers.first(), backend="django.contrib.auth.backends.ModelBackend")
    check = factories.checks_of(revision=revision)[0]
    page = client.get(reverse("review:check", args=[revision.kit.key, "A", check.pk])).content.decode()
    assert "+0.75 band widths" in page and "0.2 of the way to the limit" in page and "0 of 5" in page
    assert "270 V to 330 V" in page and "likely 0 to 43 %" in page  # Wilson, none of 5: 0 to 0.434
    plain, _, method = page.partition("How this was calculated")
    for learned in ("half-band", "Half-band", "obust spread", "ESD", ">n</th>", ">p</th>"):
        assert learned not in plain
    assert "absolute deviation" in method


def test_nothing_is_off_where_nobody_read(revision):
    check = factories.checks_of(revision=revision)[0]
    figures = statistics(check, band_for(check), [], 0)
    assert figures["first_off"] is None and figures["last_off"] is None
