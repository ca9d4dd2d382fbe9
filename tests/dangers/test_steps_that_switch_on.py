"""A step of live work that is ticked after made safe may be the one that switches on: no hands follow unasked."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.bench.gates.gating import find_power
from builds.bench.models import MadeSafe, PowerOn, Sitting, Tick
from builds.guides.models import Step
from tests import factories

pytestmark = pytest.mark.django_db
BACKEND = "django.contrib.auth.backends.ModelBackend"


@pytest.fixture
def build():
    """One powered stage: a reading, a step that puts hands in, one that switches on, and hands in once more."""
    revision = factories.make_revision(stages=2, checks=1, steps=3, issued=False)
    revision.stages.filter(key="stage-1").delete()
    Step.objects.filter(key__in=("step-2-1", "step-2-3")).update(hands_in=True)
    build = factories.make_build(revision=revision)
    sitting = Sitting.objects.create(build=build, mains_asked_at=timezone.now())
    sitting.acknowledgements.create(stage=revision.stages.get())
    earlier = timezone.now() - timedelta(minutes=5)
    PowerOn.objects.create(build=build, stage=revision.stages.get(), at=earlier)
    MadeSafe.objects.create(build=build, typed="0.4", volts=0.4, is_safe=True, at=earlier + timedelta(minutes=1))
    return build


@pytest.fixture
def phone(client, build):
    client.force_login(build.builder, backend=BACKEND)
    return client


def tick(phone, build, step, *, htmx=False, **more):
    headers = {"HX-Request": "true"} if htmx else {}
    address = reverse("bench:tick", args=[build.pk, "stage-2", step])
    return phone.post(address, {"done": "yes", **more}, headers=headers)


def ticked() -> set:
    return set(Tick.objects.values_list("step__key", flat=True))


@pytest.mark.parametrize("htmx", [True, False])
def test_it_is_asked_whether_the_power_is_on(phone, build, htmx):
    answer = tick(phone, build, "step-2-2", htmx=htmx)
    assert answer.status_code == (422 if htmx else 409) and not ticked()
    page = answer.content.decode()
    assert reverse("bench:switch-on", args=[build.pk, "stage-2"]) in page and 'name="power" value="off"' in page


def test_hands_stay_out_once_the_step_has_switched_on(phone, build):
    address = reverse("bench:switch-on", args=[build.pk, "stage-2"])
    answer = phone.post(address, {"entry_key": str(uuid4()), "step": "step-2-2"})
    assert answer["Location"].endswith("#step-step-2-2")
    assert tick(phone, build, "step-2-2").status_code == 302
    assert tick(phone, build, "step-2-3").status_code == 409
    assert ticked() == {"step-2-2"} and find_power(build).needs_made_safe


def test_a_step_done_with_the_power_off_is_said_to_be(phone, build):
    assert tick(phone, build, "step-2-2", power="off").status_code == 302
    assert tick(phone, build, "step-2-3").status_code == 302
    assert ticked() == {"step-2-2", "step-2-3"}


def test_saying_off_lets_no_hands_in_while_power_is_on_record(phone, build):
    PowerOn.objects.create(build=build)
    assert tick(phone, build, "step-2-3", power="off").status_code == 409 and not ticked()


def test_while_a_stop_stands_nobody_is_asked_to_switch_on(phone, build):
    check = build.revision.stages.get().checks.get()
    status = factories.add_reading(build=build, check=check, value=450.0, outcome="switch off")
    safe = status.latest.at + timedelta(seconds=1)
    MadeSafe.objects.create(build=build, typed="0.4", volts=0.4, is_safe=True, at=safe)
    page = tick(phone, build, "step-2-2").content.decode()
    assert reverse("bench:switch-on", args=[build.pk, "stage-2"]) not in page and not ticked()


def test_a_step_without_power_in_its_stage_is_never_asked(client):
    build = factories.make_build()
    client.force_login(build.builder, backend=BACKEND)
    answer = client.post(reverse("bench:tick", args=[build.pk, "stage-1", "step-1-1"]), {"done": "yes"})
    assert answer.status_code == 302 and ticked() == {"step-1-1"}
