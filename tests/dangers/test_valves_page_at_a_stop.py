"""While a stop stands, the page of the valves says so before it says how to note one."""

import pytest
from django.urls import reverse

from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.bench.models import MadeSafe
from builds.bench.readings.taking import take_reading
from builds.guides.models import Check
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def build(client):
    valve = {"ref": "V1", "kind": "triode", "detail": {"type": "ECC83", "base": "B9A"}}
    build = factories.make_build(revision=factories.make_revision(gate=False, steps=0, parts=(valve,)))
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    acknowledge(open_sitting(build), build.revision.stages.get(key="stage-2"), 230.0)
    return build


def read(build, typed: str):
    row = Check.objects.get(stage__revision=build.revision, key="check-2-1")
    take_reading(build, row, typed, by=build.builder, mains_volts=230.0)


def page(client, build):
    return client.get(reverse("bench:valves", args=[build.pk]))


def test_a_stop_that_is_not_answered_comes_before_the_valves(client, build):
    read(build, "450 V")
    assert page(client, build)["Location"] == reverse("bench:stop", args=[build.pk])


def test_a_stop_that_was_made_safe_stands_above_the_valves(client, build):
    read(build, "450 V")
    MadeSafe.objects.create(build=build, typed="1", volts=1.0, is_safe=True)
    text = page(client, build).content.decode()
    assert 0 < text.index("Keep it unplugged until you have found the fault") < text.index("Note a valve")


def test_power_on_record_leads_to_made_safe_and_no_stop_is_made_up(client, build):
    read(build, "300 V")
    text = page(client, build).content.decode()
    assert reverse("bench:make-safe", args=[build.pk]) in text and "Keep it unplugged" not in text
