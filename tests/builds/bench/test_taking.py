"""What a reading does to the status of its check: its place in time, and what was known when it was taken."""

from datetime import timedelta
from types import SimpleNamespace
from uuid import uuid4

import pytest
from django.utils import timezone

from builds.bench.models import CheckStatus, Reading
from builds.bench.offline.arrival import LATE
from builds.bench.readings import taking
from builds.bench.readings.taking import take_reading
from checks.outcomes import Outcome
from tests import factories
from tests.builds.bench.rules.rows import facts_with

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


@pytest.fixture
def build():
    return factories.make_build(revision=factories.make_revision(stages=1, checks=2, steps=0))


def read(build, typed, number=0, **more):
    return take_reading(build, factories.checks_of(revision=build.revision)[number], typed, by=build.builder, **more)


def test_an_entry_that_was_made_earlier_counts_as_an_attempt_and_not_as_the_latest(build):
    latest = read(build, "350")
    read(build, "300", at=timezone.now() - 3 * HOUR)
    status = CheckStatus.objects.get()
    assert (status.attempts, status.latest, status.outcome, status.passed) == (2, latest, "out of band", False)
    assert read(build, "300").attempt == 3 and CheckStatus.objects.get().passed


def test_an_entry_sent_again_is_found_among_others(build):
    key = uuid4()
    first = read(build, "300", entry_key=key)
    read(build, "310", 1)
    read(build, "305")
    assert read(build, "300", entry_key=key) == first and Reading.objects.count() == 3


@pytest.mark.parametrize(("is_changed", "passes"), [(False, True), (True, False)])
def test_a_reading_from_a_phone_passes_unless_its_valve_has_gone_since(build, monkeypatch, is_changed, passes):
    monkeypatch.setattr(taking, "is_changed_since", lambda *asked: is_changed)
    read(build, "300", at=timezone.now() - LATE - timedelta(minutes=1))
    assert CheckStatus.objects.get().passed is passes


@pytest.mark.parametrize("is_changed", [False, True])
def test_a_stop_ends_with_a_reading_in_band_though_it_passes_no_longer(build, monkeypatch, is_changed):
    monkeypatch.setattr(taking, "is_changed_since", lambda *asked: is_changed)
    read(build, "450", at=timezone.now() - 3 * HOUR)
    assert CheckStatus.objects.get().stop.typed == "450"
    read(build, "300", at=timezone.now() - 2 * HOUR)
    status = CheckStatus.objects.get()
    assert status.stop is None and status.passed is not is_changed


@pytest.mark.parametrize(
    ("outcome", "conceded", "reassures"),
    [
        (Outcome.IN_BAND, False, True),
        (Outcome.TOO_CLOSE, False, True),
        (Outcome.OUT_OF_BAND, False, False),
        (Outcome.OUT_OF_BAND, True, True),
        (Outcome.SWITCH_OFF, False, False),
        (Outcome.SWITCH_OFF, True, False),
    ],
)
def test_only_a_reading_that_may_let_its_check_pass_reassures(outcome, conceded, reassures):
    context = SimpleNamespace(check=SimpleNamespace(pk=1), result=(None, None, SimpleNamespace(outcome=outcome)))
    assert taking._reassures(context, facts_with(conceded={1} if conceded else {2})) is reassures
