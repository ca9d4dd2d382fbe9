"""A kit that was made safe and is found charged again: left plugged in, or charged by its own dielectric. It counts
whether it is typed, written on paper or kept on a phone."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from builds.bench.gates import gating
from tests import factories
from tests.builds.bench.test_sheets import build_of, enter

pytestmark = pytest.mark.django_db


def needs_made_safe(build):
    return gating.find_power(build).needs_made_safe


@pytest.fixture
def on_paper(client):
    """A build whose sheet ends with a made-safe reading at 14:20."""
    build = build_of(client)
    enter(client, build, check_2_1="301 V @ 14:05", made_safe="2.1 @ 14:20")
    assert not needs_made_safe(build)
    return build


def test_paper_that_says_charged_again_counts(client, on_paper):
    enter(client, on_paper, made_safe="310 @ 14:40")
    assert on_paper.made_safes.count() == 2 and needs_made_safe(on_paper)
    enter(client, on_paper, made_safe="2.0 @ 14:50")
    assert not needs_made_safe(on_paper)


def test_paper_that_says_charged_before_it_was_made_safe_is_asked_about_and_leaves_it_safe(client, on_paper):
    """Its time is wrong, or the record's is: nothing is dropped without a word."""
    answer = enter(client, on_paper, made_safe="310 @ 14:10")
    assert answer.status_code in (409, 422)
    assert on_paper.made_safes.count() == 1 and not needs_made_safe(on_paper)


@pytest.fixture
def build(client):
    """A build made safe ten minutes ago."""
    build = factories.make_build(revision=factories.make_revision(stages=2))
    build.made_safes.create(typed="2 V", volts=2, is_safe=True, at=timezone.now() - timedelta(minutes=10))
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    return build


def keep_on_a_phone(client, build, typed, minutes):
    """Send what a phone kept so many minutes ago."""
    key = str(uuid4())
    kept = {"Entry-Key": key, "Entry-Age": str(60 * minutes), "Outbox": "yes"}
    return client.post(f"/builds/{build.pk}/make-safe/", {"typed": typed, "entry_key": key}, headers=kept)


def test_a_phone_that_kept_charged_again_counts(client, build):
    keep_on_a_phone(client, build, "310", 5)
    assert build.made_safes.count() == 2 and needs_made_safe(build)


def test_what_a_phone_kept_before_it_was_found_charged_makes_nothing_safe(client, build):
    keep_on_a_phone(client, build, "310", 5)
    keep_on_a_phone(client, build, "2", 7)
    assert build.made_safes.count() == 3 and needs_made_safe(build)
    keep_on_a_phone(client, build, "2", 2)
    assert not needs_made_safe(build)
