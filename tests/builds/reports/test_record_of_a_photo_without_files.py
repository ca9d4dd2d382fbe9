"""A photo whose row is there and whose files are not, as after a restore without the photos."""

import pytest
from django.urls import reverse

from builds.bench.models import Photo
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def photo(client):
    build = factories.make_build()
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    return Photo.objects.create(build=build, stage=build.revision.stages.first(), width=40, height=30)


def test_the_build_record_is_made_all_the_same(client, photo):
    answer = client.get(reverse("reports:build-record", args=[photo.build_id]))
    assert answer.status_code == 200 and answer.getvalue().startswith(b"%PDF")


@pytest.mark.parametrize("size", ["full", "print", "thumb"])
def test_its_address_says_that_it_is_not_there(client, photo, size):
    assert client.get(reverse("bench:photo", args=[photo.build_id, photo.pk, size])).status_code == 404
