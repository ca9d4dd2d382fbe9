"""The fast track skips nothing: every lock, gate, caution and stop is tried through it."""

from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.bench.gates import gating, sittings
from builds.bench.models import Build, Halt, MadeSafe, Tick
from builds.bench.readings.taking import take_reading
from builds.guides.models import Check, Revision, Stage, Step
from tests import factories

pytestmark = pytest.mark.django_db
BACKEND = "django.contrib.auth.backends.ModelBackend"


@pytest.fixture
def build():
    """Two cold stages and a powered one; in the second of the cold ones a check comes before its steps."""
    revision = factories.make_revision(stages=4, checks=1, steps=2, issued=False)
    Stage.objects.filter(revision=revision, power="on").update(cautions=["lethal-voltage"])
    Step.objects.filter(stage__revision=revision, stage__key="stage-2", key="step-2-2").update(hands_in=True)
    third = revision.stages.get(key="stage-3")
    third.checks.update(place=1)
    for n, step in enumerate(third.steps.all(), 2):
        Step.objects.filter(pk=step.pk).update(place=n)
    Revision.objects.filter(pk=revision.pk).update(state="issued", issued_at=timezone.now())
    revision.refresh_from_db()
    return factories.make_build(revision=revision, fast_track=True)


def tick_together(client, build, stage, *steps):
    client.force_login(build.builder, backend=BACKEND)
    return client.post(reverse("bench:tick-steps", args=[build.pk, stage]), {"step": steps, "power": "off"})


def ticked(build):
    return set(Tick.objects.filter(build=build).values_list("step__key", flat=True))


def read(build, key, typed="300 V"):
    return take_reading(build, Check.objects.get(stage__revision=build.revision, key=key), typed, by=build.builder)


def acknowledge(build, *stages):
    sitting = sittings.open_sitting(build)
    for key in stages:
        stage = build.revision.stages.get(key=key)
        sittings.acknowledge(sitting, stage, 230.0, by=build.builder, entry_key=uuid4(), live=stage.is_powered)


def to_second(build):
    """The first gate is passed and the powered stage's cautions are read."""
    read(build, "check-1-1")
    for step in Step.objects.filter(stage__revision=build.revision, stage__key="stage-1"):
        Tick.objects.get_or_create(build=build, step=step)
    acknowledge(build, "stage-2")


def make_safe(build):
    MadeSafe.objects.create(build=build, typed="3 V", volts=3.0, is_safe=True)


def test_several_steps_are_ticked_together(client, build):
    assert tick_together(client, build, "stage-1", "step-1-1", "step-1-2").status_code == 302
    assert ticked(build) == {"step-1-1", "step-1-2"}


def test_the_switch_is_the_builds_own_and_its_builders(client, build):
    Build.objects.update(fast_track=False)
    tick_together(client, build, "stage-1", "step-1-1")
    assert ticked(build) == set()
    client.force_login(factories.make_builder(), backend=BACKEND)
    assert client.post(reverse("bench:fast-track", args=[build.pk]), {"on": "yes"}).status_code == 404
    assert tick_together_as_stranger(client, build).status_code == 404
    client.force_login(build.builder, backend=BACKEND)
    client.post(reverse("bench:fast-track", args=[build.pk]), {"on": "yes"})
    build.refresh_from_db()
    assert build.fast_track
    client.force_login(build.revision.kit.designers.get(), backend=BACKEND)
    assert "fast track" in client.get(reverse("review:build", args=[build.pk])).content.decode()


def tick_together_as_stranger(client, build):
    return client.post(reverse("bench:tick-steps", args=[build.pk, "stage-1"]), {"step": "step-1-1"})


def test_a_stage_behind_a_gate_stays_shut(client, build):
    assert tick_together(client, build, "stage-2", "step-2-1").status_code == 409
    assert ticked(build) == set()


def test_cautions_come_first(client, build):
    read(build, "check-1-1")
    tick_together(client, build, "stage-1", "step-1-1", "step-1-2")
    answer = tick_together(client, build, "stage-2", "step-2-1")
    assert "cautions" in answer.url and "step-2-1" not in ticked(build)


def test_hands_stay_out_while_power_is_on_record(client, build):
    to_second(build)
    assert gating.find_power(build).needs_made_safe
    tick_together(client, build, "stage-2", "step-2-1", "step-2-2")
    assert {"step-2-1"} <= ticked(build) and "step-2-2" not in ticked(build)
    make_safe(build)
    tick_together(client, build, "stage-2", "step-2-2")
    assert "step-2-2" in ticked(build)


def test_a_live_step_after_made_safe_is_ticked_by_itself(client, build):
    """Ticked in a heap it would leave power off the record; a post that says the power is off changes nothing here."""
    to_second(build)
    make_safe(build)
    tick_together(client, build, "stage-2", "step-2-1")
    assert "step-2-1" not in ticked(build)


def test_a_check_that_comes_first_holds_every_step_back(client, build):
    to_second(build)
    read(build, "check-2-1")
    make_safe(build)
    for step in Step.objects.filter(stage__revision=build.revision, stage__key="stage-2"):
        Tick.objects.get_or_create(build=build, step=step)
    tick_together(client, build, "stage-3", "step-3-1", "step-3-2")
    assert not {"step-3-1", "step-3-2"} & ticked(build)
    read(build, "check-3-1", "390 V")  # out of band: it has not passed
    tick_together(client, build, "stage-3", "step-3-1")
    assert "step-3-1" not in ticked(build)
    read(build, "check-3-1")
    tick_together(client, build, "stage-3", "step-3-1", "step-3-2")
    assert {"step-3-1", "step-3-2"} <= ticked(build)


def test_a_stop_takes_the_page_over(client, build):
    to_second(build)
    read(build, "check-2-1", "500 V")
    answer = tick_together(client, build, "stage-2", "step-2-1", "step-2-2")
    assert answer.url == reverse("bench:stop", args=[build.pk]) and "step-2-1" not in ticked(build)
    page = client.get(reverse("bench:grid", args=[build.pk, "stage-2"]))
    assert page.status_code == 302 and page.url == reverse("bench:stop", args=[build.pk])


def test_a_halted_stage_stays_shut(client, build):
    Halt.objects.create(stage=build.revision.stages.get(key="stage-1"), reason="A wrong drawing")
    assert tick_together(client, build, "stage-1", "step-1-1").status_code == 409
    assert ticked(build) == set()


@pytest.mark.parametrize("field", ["finished_at", "given_up_at"])
def test_a_build_that_has_ended_takes_no_ticks(client, build, field):
    Build.objects.update(**{field: timezone.now()})
    assert tick_together(client, build, "stage-1", "step-1-1").status_code in (302, 409)
    assert ticked(build) == set()


def test_steps_of_another_stage_are_not_ticked(client, build):
    tick_together(client, build, "stage-1", "step-2-1", "nothing")
    assert ticked(build) == set()


def test_the_page_shows_which_steps_are_held_back(client, build):
    to_second(build)
    client.force_login(build.builder, backend=BACKEND)
    page = client.get(reverse("bench:grid", args=[build.pk, "stage-2"]))
    locks = {step.key: lock for _n, step, _done, lock, *_rest in page.context["steps"]}
    assert locks["step-2-1"] is None and locks["step-2-2"].is_power
    Build.objects.update(fast_track=False)
    assert client.get(reverse("bench:grid", args=[build.pk, "stage-2"])).context["steps"] == []
