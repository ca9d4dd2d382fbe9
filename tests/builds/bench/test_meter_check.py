"""The meter's self-check on the bench, and what the designer sees of it."""

from uuid import uuid4

import pytest
from django.urls import reverse

from builds.bench.models import MeterCheck
from builds.guides.models import Part, Revision
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def build():
    revision = factories.make_revision(issued=False)
    Part.objects.create(revision=revision, position=1, ref="M1", kind="test resistor", value="100k", tolerance="1%")
    Part.objects.create(revision=revision, position=2, ref="M2", kind="test battery", value="1.6 V", tolerance="4%")
    Revision.objects.filter(pk=revision.pk).update(state="issued", issued_at="2026-01-05T10:00Z")
    revision.refresh_from_db()
    return factories.make_build(revision=revision)


@pytest.fixture
def phone(client, build):
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    return client


def page(build):
    return reverse("bench:meter-check", args=[build.pk])


def read(phone, build, ref, typed, key=None):
    return phone.post(page(build), {"piece": ref, f"{ref}-typed": typed, f"{ref}-entry_key": key or str(uuid4())})


def home(phone, build):
    return phone.get(reverse("bench:build", args=[build.pk])).content.decode()


def test_a_new_build_asks_for_the_meter_first(phone, build):
    assert "Check your meter first" in home(phone, build)
    read(phone, build, "M1", "99.8k")
    read(phone, build, "M2", "1.61")
    assert "Check your meter first" not in home(phone, build)


@pytest.mark.lengthy
def test_a_meter_out_of_trim_is_told_of_on_every_reading_and_to_the_designer(phone, build, client):
    read(phone, build, "M1", "105.0k")
    assert "reads wrong" in phone.get(page(build)).content.decode()
    assert "Your meter reads wrong" in home(phone, build)
    check = build.revision.stages.first().checks.first()
    assert (
        "reads wrong on M1" in phone.get(reverse("bench:check", args=[build.pk, "stage-1", check.key])).content.decode()
    )
    client.force_login(build.revision.kit.designers.get(), backend="django.contrib.auth.backends.ModelBackend")
    assert "Meter checks" in client.get(reverse("review:build", args=[build.pk])).content.decode()


def test_the_latest_self_check_counts(phone, build):
    read(phone, build, "M1", "105.0k")
    read(phone, build, "M1", "100.1k")
    assert "Your meter reads wrong" not in home(phone, build)
    assert MeterCheck.objects.count() == 2


def test_a_double_tap_makes_one(phone, build):
    key = str(uuid4())
    for _ in range(2):
        read(phone, build, "M1", "99.8k", key)
    assert MeterCheck.objects.count() == 1


@pytest.mark.parametrize(
    ("typed", "said"), [("", "Type what the meter shows"), ("ninety", "cannot be read"), ("1.6 V", "measured in Ω")]
)
def test_what_cannot_be_read_comes_back_with_what_is_accepted(phone, build, typed, said):
    answer = read(phone, build, "M1", typed)
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not MeterCheck.objects.exists()


def test_a_piece_the_kit_does_not_have_is_not_found(phone, build):
    assert read(phone, build, "R1", "100k").status_code == 404


def test_a_kit_without_test_pieces_asks_nothing(client):
    build = factories.make_build()
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    assert "Check your meter" not in home(client, build)
    assert client.get(page(build)).status_code == 404
