"""“Correct a typing error” opens the field again: the order to switch off stays above it while it is not answered."""

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.bench.models import MadeSafe, PowerOn, Tick
from builds.bench.readings.taking import take_reading
from builds.guides.models import Check, Step
from tests import factories

pytestmark = pytest.mark.django_db
ORDER = "Switch off now. Unplug."


@pytest.fixture
def build(client):
    build = factories.make_build(revision=factories.make_revision(stages=2, checks=2, steps=1))
    Tick.objects.bulk_create(
        Tick(build=build, step=step) for step in Step.objects.filter(stage__revision=build.revision)
    )
    for check in Check.objects.filter(stage__revision=build.revision, stage__position=1).select_related(
        "stage__revision"
    ):
        take_reading(build, check, "300.0 V", by=build.builder)
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    acknowledge(open_sitting(build), check_of(build).stage, 230.0)
    return build


def check_of(build, key="check-2-1"):
    return Check.objects.select_related("stage__revision").get(stage__revision=build.revision, key=key)


def page(client, build, **query):
    answer = client.get(reverse("bench:check", args=[build.pk, "stage-2", "check-2-1"]), query)
    assert answer.status_code == 200
    return answer.content.decode().partition("<main")[2]


def test_the_order_stands_above_the_field_for_correcting(client, build):
    take_reading(build, check_of(build), "120 V", by=build.builder)
    assert ORDER in page(client, build)
    correcting = page(client, build, measure=1)
    assert 'name="typed"' in correcting and 0 < correcting.find(ORDER) < correcting.find('name="typed"')


def test_it_is_gone_once_the_kit_was_made_safe_and_is_measured_after_the_repair(client, build):
    take_reading(build, check_of(build), "120 V", by=build.builder)
    MadeSafe.objects.create(build=build, typed="1.0", volts=1.0, is_safe=True)
    PowerOn.objects.create(build=build, at=timezone.now())
    repaired = page(client, build, measure=1)
    assert 'name="typed"' in repaired and ORDER not in repaired


def test_a_corrected_typing_error_takes_the_order_away(client, build):
    take_reading(build, check_of(build), "30.0 V", by=build.builder)
    take_reading(build, check_of(build), "300.0 V", by=build.builder, is_slip=True)
    assert ORDER not in page(client, build) and ORDER not in page(client, build, measure=1)
