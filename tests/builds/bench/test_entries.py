"""Entries of a thread that say nothing. Keys: tests/dangers/test_entry_keys.py."""

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


def test_a_message_without_words_is_refused(client, snag):
    sign_in(client, snag.build.builder)
    address = reverse("bench:snag", args=[snag.build_id, snag.pk])
    assert client.post(address, {"words": " ", "entry_key": str(uuid4())}).status_code == 422
    assert words() == []
