"""A program that posts readings is given the bench's order: what says switch off on the page says it in the answer too,
and nothing is praised while a stop or an overload stands."""

import json
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.bench.models import MadeSafe, PowerOn
from builds.guides.models import Revision
from builds.operations.api.tokens import make
from builds.ui.messages.advice import advice_sentence, find_the_fault
from checks.diagnosis.advice import AdviceCode, Sentence
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def build():
    revision = factories.make_revision(stages=2, checks=2, steps=0, gate=False, issued=False)
    Revision.objects.filter(pk=revision.pk).update(state="issued", issued_at=timezone.now())
    build = factories.make_build(revision=Revision.objects.get(pk=revision.pk))
    for stage in revision.stages.all():
        acknowledge(open_sitting(build), stage, 230.0 if stage.is_powered else None)
    return build


def post(client, build, typed, stage="stage-2", check="check-2-1"):
    token = make(build.builder, "a logging meter", ["write-readings"])
    answer = client.post(
        reverse("operations:api-post-reading", args=[build.pk, stage, check]),
        json.dumps({"typed": typed, "unit": "V", "entry_key": str(uuid4())}),
        content_type="application/json",
        headers={"Authorization": f"Bearer {token}"},
    )
    assert answer.status_code == 201, answer.content
    return answer.json()


def test_a_supply_that_is_pulled_down_says_switch_off(client, build):
    said = post(client, build, "210.0")
    assert said["reading"]["outcome"] == "out of band" and said["switch_off"]
    assert said["text"] == advice_sentence(Sentence(AdviceCode.SWITCH_OFF))


def test_a_good_reading_beside_an_overload_is_not_praised(client, build):
    post(client, build, "210.0")
    said = post(client, build, "300.0", check="check-2-2")
    assert said["reading"]["outcome"] == "in band" and said["switch_off"]
    assert said["text"] == find_the_fault(is_live=True)


def test_a_good_reading_without_power_is_not_praised_while_a_stop_stands(client, build):
    assert post(client, build, "450.0")["switch_off"]
    MadeSafe.objects.create(build=build, typed="1.0", volts=1.0, is_safe=True)
    said = post(client, build, "300.0", "stage-1", "check-1-1")
    assert not said["switch_off"] and said["text"] == find_the_fault(is_live=False)


def test_a_good_reading_of_a_good_kit_is_told_as_on_the_page(client, build):
    said = post(client, build, "300.0")
    assert not said["switch_off"] and said["text"] == build.readings.get().explanation
    assert PowerOn.objects.exists()
