"""The first page after signing in on another device: a kit past its stop limit is not called “in progress” there."""

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.bench.models import Build, MadeSafe
from builds.bench.readings.taking import take_reading
from builds.guides.models import Check
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def build(client):
    build = factories.make_build()
    Build.objects.filter(pk=build.pk).update(started_at=timezone.now())
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    return build


def read(build, typed):
    check = Check.objects.select_related("stage__revision").get(stage__revision=build.revision, key="check-2-1")
    return take_reading(build, check, typed, by=build.builder)


def listed(client) -> str:
    return client.get(reverse("bench:builds")).content.decode().partition("<main")[2]


def test_the_list_says_switch_off_until_the_check_reads_well(client, build):
    assert "in progress" in listed(client)
    read(build, "450 V")
    assert "switch off" in listed(client) and "in progress" not in listed(client)
    MadeSafe.objects.create(build=build, typed="1.0", volts=1.0, is_safe=True)
    assert "switch off" in listed(client)
    read(build, "340 V")  # out, and short of the limit
    assert "switch off" in listed(client)
    read(build, "300 V")
    assert "switch off" not in listed(client) and "in progress" in listed(client)


def test_another_builders_stop_is_not_shown(client, build):
    read(factories.make_build(revision=build.revision), "450 V")
    assert "switch off" not in listed(client)
