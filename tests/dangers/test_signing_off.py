"""Nobody signs off past news of the designer's: a correction that is not confirmed, or a stage shut for every build."""

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.bench.models import Build, Erratum, ErratumSeen, Halt
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


@pytest.mark.parametrize("ended", ["finished_at", "given_up_at"])
def test_the_mains_and_the_meter_of_a_record_stay_as_they_were_signed(client, done, ended):
    other = factories.make_meter(owner=done.builder)
    sent = {"mains_volts": 120, "mains_hertz": 60, "meter": other.pk}
    address, before = reverse("bench:settings", args=[done.pk]), done.meter_id
    Build.objects.filter(pk=done.pk).update(**{ended: timezone.now()})
    client.post(address, sent)
    kept = Build.objects.get(pk=done.pk)
    assert (kept.mains_volts, kept.mains_hertz, kept.meter_id) == (done.mains_volts, done.mains_hertz, before)
    Build.objects.filter(pk=done.pk).update(**{ended: None})
    client.post(address, sent)
    assert Build.objects.get(pk=done.pk).meter_id == other.pk
