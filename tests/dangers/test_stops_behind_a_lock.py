"""Whatever else comes before a reading, one past its stop limit is answered with the order to switch off."""

import json
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.bench.gates.gating import find_power
from builds.bench.models import Build, Erratum, Halt, MadeSafe, PowerOn, Reading
from builds.operations.api.tokens import make
from tests import factories

pytestmark = pytest.mark.django_db
BACKEND = "django.contrib.auth.backends.ModelBackend"


@pytest.fixture
def build():
    return factories.make_build(revision=factories.make_revision(stages=2, checks=2, steps=0))


@pytest.fixture
def phone(client, build):
    client.force_login(build.builder, backend=BACKEND)
    for key in ("check-1-1", "check-1-2"):
        read(client, build, key, "300")
    return client


def address(build, name, *place):
    return reverse(f"bench:{name}", args=[build.pk, *place])


def read(client, build, key, typed, door="reading", **headers):
    stage = f"stage-{key.split('-')[1]}"
    entry = {"typed": typed, "unit": "V", "entry_key": str(uuid4())}
    return client.post(address(build, door, stage, key), entry, **headers)


def begin(phone, build):
    phone.post(address(build, "cautions", "stage-2"), {"read": "on", "mains": "", "entry_key": str(uuid4())})


def correct(build):
    Erratum.objects.create(revision=build.revision, stage=build.revision.stages.get(key="stage-2"), words="Blue.")


def halt(build):
    Halt.objects.create(stage=build.revision.stages.get(key="stage-2"), reason="A fire.", by=build.builder)


def make_safe(build):
    MadeSafe.objects.create(build=build, typed="1.0", volts=1.0, is_safe=True)


def finish(build):
    Build.objects.filter(pk=build.pk).update(finished_at=timezone.now())


@pytest.mark.parametrize("door", ["reading", "grid-reading"])
@pytest.mark.parametrize("first", [correct, make_safe, None])
def test_a_stop_read_before_the_cautions_an_erratum_or_the_power_question_takes_over(phone, build, first, door):
    if first:
        begin(phone, build)
        first(build)
    assert read(phone, build, "check-2-1", "450", door)["Location"] == address(build, "stop")
    assert Reading.objects.get(typed__startswith="450").is_stop and find_power(build).stop_unanswered


@pytest.mark.parametrize("first", [correct, make_safe, None])
def test_a_good_reading_is_still_held_back_by_them(phone, build, first):
    if first:
        begin(phone, build)
        first(build)
    read(phone, build, "check-2-1", "300")
    assert not Reading.objects.filter(check_row__key="check-2-1").exists()


@pytest.mark.parametrize("door", ["reading", "grid-reading"])
@pytest.mark.parametrize("shut", [halt, finish])
def test_a_stop_read_in_a_closed_stage_is_answered_with_the_order_to_switch_off(phone, build, shut, door):
    begin(phone, build)
    make_safe(build)
    shut(build)
    answer = read(phone, build, "check-2-1", "450", door, headers={"HX-Request": "true"})
    assert (answer.status_code, answer["Entry-Outcome"]) == (409, "x")
    said = answer.content.decode()
    assert "Switch off now" in said and "450" in said and "Your reading was not saved" in said
    assert not Reading.objects.filter(check_row__key="check-2-1").exists()


def test_such_a_stop_puts_power_on_record_so_that_no_hands_go_in(phone, build):
    begin(phone, build)
    make_safe(build)
    halt(build)
    entry = {"typed": "450", "unit": "V", "entry_key": str(uuid4())}
    for _again in range(2):
        phone.post(address(build, "reading", "stage-2", "check-2-1"), entry)
    assert find_power(build).needs_made_safe and PowerOn.objects.filter(why=PowerOn.Why.AGAIN).count() == 1


@pytest.mark.parametrize(("first", "status"), [(halt, 409), (correct, 201), (make_safe, 201)])
def test_a_program_is_told_to_switch_off_whatever_comes_first(phone, build, first, status):
    begin(phone, build)
    first(build)
    token = make(build.builder, "a logging meter", ["write-readings"])
    answer = phone.post(
        reverse("operations:api-post-reading", args=[build.pk, "stage-2", "check-2-1"]),
        json.dumps({"typed": "450", "unit": "V", "entry_key": str(uuid4())}),
        content_type="application/json",
        headers={"Authorization": f"Bearer {token}"},
    )
    assert answer.status_code == status
    assert answer.json()["switch_off"] and "Switch off" in answer.json()["text"] + answer.json().get("title", "")
