"""A check corrected while a phone had no connection: what was measured by the guide as issued passes nothing.

Why: before its builder read the correction, a reading is of the place and by the figures of the old page.
"""

from datetime import timedelta

import pytest
from django.db import transaction
from django.utils import timezone

from builds.bench.errata import reopen_corrected
from builds.bench.models import Erratum, ErratumSeen, Reading
from builds.guides.models import Check
from tests.browser.test_story import cleared_though_frozen  # noqa: F401
from tests.offline.bench import make_bench
from tests.offline.test_two_phones import send  # noqa: F401

pytestmark = pytest.mark.django_db(transaction=True)


def publish(build, key, ago=0.0, words="Read it at pin 3 instead."):
    """A correction of a check, published so many seconds ago."""
    row, at = Check.objects.get(stage__revision=build.revision, key=key), timezone.now() - timedelta(seconds=ago)
    erratum = Erratum.objects.create(revision=build.revision, stage=row.stage, check_row=row, words=words, at=at)
    with transaction.atomic():  # it locks the builds
        reopen_corrected(erratum)
    return erratum


@pytest.mark.lengthy
@pytest.mark.parametrize("made", [1200, 600, 30], ids=["before it", "after it", "just before it was read"])
def test_a_reading_made_before_its_correction_was_read_passes_nothing(send, made):  # noqa: F811
    build = make_bench()
    ErratumSeen.objects.create(erratum=publish(build, "check-1-1", ago=900), build=build)
    assert send(build, "reading", "stage-1", "check-1-1", ago=made, typed="301", unit="V")
    assert Reading.objects.get().outcome == "in band" and not build.statuses.get().passed
    assert send(build, "reading", "stage-1", "check-1-1", ago=0, typed="302", unit="V")
    assert build.statuses.get().passed


@pytest.mark.lengthy
def test_a_correction_withdrawn_or_of_another_check_takes_nothing_away(send):  # noqa: F811
    build = make_bench()
    ErratumSeen.objects.create(erratum=publish(build, "check-1-2", ago=900), build=build)
    Erratum.objects.filter(pk=publish(build, "check-1-1", ago=900).pk).update(withdrawn_at=timezone.now())
    assert send(build, "reading", "stage-1", "check-1-1", ago=600, typed="301", unit="V")
    assert build.statuses.get().passed


@pytest.mark.lengthy
def test_a_confirmation_of_another_build_says_nothing_of_this_one(send):  # noqa: F811
    build, other = make_bench(), make_bench()
    erratum, before = publish(build, "check-1-1", ago=900), timezone.now() - timedelta(seconds=800)
    ErratumSeen.objects.create(erratum=erratum, build=other, at=before)
    ErratumSeen.objects.create(erratum=erratum, build=build)
    assert send(build, "reading", "stage-1", "check-1-1", ago=600, typed="301", unit="V")
    assert not build.statuses.get().passed


@pytest.mark.lengthy
def test_two_readings_too_close_to_call_confirm_nothing_across_a_correction(send):  # noqa: F811
    build = make_bench()
    erratum = publish(build, "check-1-1", ago=900)
    ErratumSeen.objects.create(erratum=erratum, build=build, at=timezone.now() - timedelta(seconds=500))
    for ago in (600, 400):
        assert send(build, "reading", "stage-1", "check-1-1", ago=ago, typed="329.9", unit="V")
    assert {r.outcome for r in Reading.objects.all()} == {"too close to call"} and not build.statuses.get().passed
    assert send(build, "reading", "stage-1", "check-1-1", ago=300, typed="329.8", unit="V")
    assert build.statuses.get().passed
