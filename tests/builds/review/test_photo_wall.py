"""All builds' photos of one step beside the guide's example."""

from uuid import uuid4

import pytest
from django.urls import reverse

from builds.bench.photos.storage import save_photo
from builds.bench.photos.withdrawing import withdraw
from builds.guides.models import Step
from builds.review.demo.photos import draw_photo
from builds.review.photo_wall import photo_steps
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def programme():
    """A guide of two stages of two steps, and three builds of it; the first and the third sent a photo of one step."""
    revision = factories.make_revision(stages=2, checks=1, steps=2)
    builds = [factories.make_build(revision=revision, serial=serial) for serial in ("K-2", "K-10", "K-1")]
    step = revision.stages.get(key="stage-2").steps.get(key="step-2-1")
    for build in (builds[1], builds[2]):
        photographed(build, step)
    return revision, builds, step


def photographed(build, step):
    return save_photo(
        draw_photo("a.jpg", build.serial, "x"), build=build, stage=step.stage, step=step, by=build.builder,
        entry_key=uuid4(),
    )  # fmt: skip


def test_the_photos_of_a_step_stand_in_the_order_of_their_builds(programme):
    revision, _builds, step = programme
    (entry,) = photo_steps(revision)
    assert entry.step == step and [photo.build.serial for photo in entry.photos] == ["K-1", "K-10"]


def test_a_withdrawn_photo_and_one_of_another_kit_are_not_there(programme):
    revision, builds, step = programme
    withdraw(builds[2].photos.get())
    other = factories.make_build()
    photographed(other, other.revision.stages.first().steps.first())
    (entry,) = photo_steps(revision)
    assert [photo.build.serial for photo in entry.photos] == ["K-10"]


def test_a_stage_filters_and_a_step_without_photos_is_not_found(programme, client):
    revision, _builds, step = programme
    client.force_login(revision.kit.designers.first(), backend="django.contrib.auth.backends.ModelBackend")
    where = [revision.kit.key, revision.letter]
    assert client.get(reverse("review:photos", args=where), {"stage": "stage-1"}).context["steps"] == []
    whole = client.get(reverse("review:photos", args=where)).context
    assert [entry.step for entry in whole["steps"]] == [step] and whole["awaited"] == []
    page = client.get(reverse("review:step-photos", args=[*where, "stage-2", step.key]))
    assert page.status_code == 200 and page.content.decode().count("/print/") == 2
    assert client.get(reverse("review:step-photos", args=[*where, "stage-2", "step-2-2"])).status_code == 404


def test_a_step_that_no_build_has_photographed_is_listed_apart(client):
    revision = factories.make_revision(stages=1, steps=2, issued=False)
    asks, other = revision.stages.get().steps.all()
    Step.objects.filter(pk=asks.pk).update(photo=Step.Photo.REQUIRED)
    client.force_login(revision.kit.designers.first(), backend="django.contrib.auth.backends.ModelBackend")
    shown = client.get(reverse("review:photos", args=[revision.kit.key, revision.letter]))
    assert shown.context["steps"] == [] and [entry.step for entry in shown.context["awaited"]] == [asks]
    assert asks.text in shown.content.decode() and other.text not in shown.content.decode()
