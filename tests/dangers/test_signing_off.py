"""Nobody signs off past news of the designer's: a correction that is not confirmed, or a stage shut for every build."""

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.bench.models import Erratum, ErratumSeen, Halt
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def done(client):
    """A build with every reading in band, and its builder's browser."""
    revision = factories.make_revision(stages=1, checks=1, steps=0)
    build = factories.make_build(revision=revision)
    factories.add_reading(build=build, check=factories.checks_of(revision=revision)[0])
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    return build


def signs_off(client, build) -> bool:
    client.post(reverse("bench:finish", args=[build.pk]))
    build.refresh_from_db()
    return build.finished_at is not None


def offers(client, build) -> bool:
    return (
        reverse("bench:finish", args=[build.pk]) in client.get(reverse("bench:build", args=[build.pk])).content.decode()
    )


def test_a_correction_is_confirmed_before_a_build_is_signed_off(client, done):
    stage = done.revision.stages.get()
    row = Erratum.objects.create(revision=done.revision, stage=stage, words="C1 is shown the wrong way round.")
    assert not offers(client, done) and not signs_off(client, done)
    ErratumSeen.objects.create(erratum=row, build=done)
    assert offers(client, done) and signs_off(client, done)


def test_a_stage_shut_for_every_build_keeps_a_done_build_from_being_signed_off(client, done):
    Halt.objects.create(stage=done.revision.stages.get(), reason="C1 is rated too low.")
    assert not offers(client, done) and not signs_off(client, done)
    Halt.objects.update(lifted_at=timezone.now())
    assert offers(client, done) and signs_off(client, done)
