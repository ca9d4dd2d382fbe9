"""Entry keys of threads: the same post twice is one entry, other words are another."""

from uuid import uuid4

import pytest
from django.urls import reverse

from builds.bench.models import Message, Snag
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def snag():
    build = factories.make_build()
    return Snag.objects.create(
        build=build, stage=build.revision.stages.first(), kind="other", words="W", by=build.builder
    )


def words():
    return list(Message.objects.order_by("pk").values_list("words", flat=True))


def sign_in(client, person):
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")


def test_a_builders_second_text_under_a_used_key_is_kept(client, snag):
    sign_in(client, snag.build.builder)
    key = str(uuid4())
    for text in ("One.", "One.", "Two.", "Two.", "One."):
        client.post(reverse("bench:snag", args=[snag.build_id, snag.pk]), {"words": text, "entry_key": key})
    assert words() == ["One.", "Two."]


def test_a_designers_second_answer_under_a_used_key_is_kept(client, snag):
    sign_in(client, snag.build.revision.kit.designers.first())
    key = str(uuid4())
    for text in ("One.", "Two.", "Two."):
        client.post(
            reverse("review:snag", args=[snag.pk]),
            {"words": text, "entry_key": key, "state": "answered", "triage-cause": "unknown", "triage-state": "new"},
        )
    assert words() == ["One.", "Two."]


def test_a_key_used_on_another_snag_takes_no_answer_away(client, snag):
    other = Snag.objects.create(build=snag.build, stage=snag.stage, kind="other", words="W", by=snag.by)
    sign_in(client, snag.build.builder)
    key = str(uuid4())
    for one in (snag, other):
        client.post(reverse("bench:snag", args=[snag.build_id, one.pk]), {"words": "Same.", "entry_key": key})
    assert [s.messages.count() for s in (snag, other)] == [1, 1]


def test_a_second_snag_under_a_used_key_is_kept(client, snag):
    sign_in(client, snag.build.builder)
    address, key = reverse("bench:new-snag", args=[snag.build_id, snag.stage.key]), str(uuid4())
    for text in ("Smoke.", "Smoke.", "A crack."):
        answer = client.post(
            address, {"words": text, "kind": "other", "severity": "slowed", "about": "", "entry_key": key}
        )
        assert answer.status_code in (302, 303)
    assert list(Snag.objects.order_by("pk").values_list("words", flat=True)) == ["W", "Smoke.", "A crack."]


def test_no_words_are_no_entry(client, snag):
    sign_in(client, snag.build.builder)
    address = reverse("bench:snag", args=[snag.build_id, snag.pk])
    assert client.post(address, {"words": " ", "entry_key": str(uuid4())}).status_code == 422
    assert words() == []
