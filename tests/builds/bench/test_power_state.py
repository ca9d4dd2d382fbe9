"""What power does to a build: no way leads hands in past a made-safe reading. Each test is named after its danger."""

from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from builds.bench.gates import gating, sittings
from builds.bench.gates.facts import facts_of
from builds.bench.models import Halt, MadeSafe, Reading
from builds.bench.readings.taking import take_reading
from builds.guides.models import Check
from tests import factories

pytestmark = pytest.mark.django_db


def at(name, build, *more):
    return reverse(f"bench:{name}", args=[build.pk, *more])


def check_of(build, key):
    return Check.objects.select_related("stage").get(stage__revision=build.revision, key=key)


def read(build, key, typed, **more):
    return take_reading(build, check_of(build, key), typed, by=build.builder, **more)


def power(build):
    return gating.power_of(build, facts_of(build))


def state(build, key):
    return next(s for s in gating.stage_states(build) if s.stage.key == key)


def make_safe(phone, build, typed="3"):
    return phone.post(at("make-safe", build), {"typed": typed, "entry_key": str(uuid4())})


def power_on(build, stage_key="stage-2"):
    """The builder acknowledges a powered stage's cautions: from here on the kit may be live."""
    sittings.acknowledge(sittings.current_or_new(build), build.revision.stages.get(key=stage_key), 230.0)


@pytest.fixture
def build():
    return factories.make_build(revision=factories.make_revision(stages=3, checks=2, steps=1, gate=False))


@pytest.fixture
def phone(build):
    made = Client()
    made.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    return made


def test_a_stop_on_an_unpowered_stage_counts_as_live(build):
    """Volts where there should be none: the kit has power, whatever the stage says."""
    read(build, "check-1-1", "300")
    assert not power(build).needs_made_safe
    read(build, "check-1-2", "450")
    assert power(build).needs_made_safe and power(build).stop_unanswered


def test_a_halted_stage_is_never_shown_as_done(build):
    for key in ("check-1-1", "check-1-2"):
        read(build, key, "300")
    step = build.revision.stages.get(key="stage-1").steps.get()
    build.ticks.create(step=step)
    assert state(build, "stage-1").state == "done"
    Halt.objects.create(stage=step.stage, reason="C1 is rated too low.")
    halted = state(build, "stage-1")
    assert halted.state == "shut" and halted.reasons
    Halt.objects.update(lifted_at=timezone.now())
    assert state(build, "stage-1").state == "done"


@pytest.mark.parametrize(
    ("typed", "is_safe"),
    [("59.0", True), ("59.9", False), ("60", False), ("60.0", False), ("-60", False), ("−59.0", True), ("59", False)],
)
def test_sixty_volts_exactly_is_not_safe(phone, build, typed, is_safe):
    """IEC 62368-1:2018, table 4: ES1 ends at 60 V DC; safe is what lies below it whatever this meter's ±(0.5 % + 2
    digits) hides."""
    power_on(build)
    answer = make_safe(phone, build, typed)
    assert MadeSafe.objects.get().is_safe is is_safe
    assert answer.status_code == (302 if is_safe else 422)
    assert power(build).needs_made_safe is not is_safe


def test_a_slip_confirms_nothing_when_a_concession_is_worked_out_again(build):
    """Two entries of one look at the meter are one reading, not two that agree."""
    check = check_of(build, "check-1-1")
    for _attempt in (1, 2):
        factories.add_reading(build=build, check=check, value=330.0, outcome="too close to call")
    assert gating.refresh_status(build, check).passed  # two readings in earnest do confirm each other
    Reading.objects.filter(build=build, attempt=2).update(is_slip=True)
    assert not gating.refresh_status(build, check).passed
    gating.concede(build, check, by=None, reason="Seen on the prototype too.")
    assert build.statuses.get(check_row=check).passed


def test_a_new_sitting_does_not_forget_that_the_kit_had_power(phone, build):
    power_on(build)
    phone.post(at("end-sitting", build))
    assert power(build).needs_made_safe
    sittings.current_or_new(build)
    assert power(build).needs_made_safe and state(build, "stage-3").state == "shut"


def test_power_after_a_made_safe_reading_is_power_again(phone, build):
    power_on(build)
    make_safe(phone, build)
    assert not power(build).needs_made_safe
    read(build, "check-2-1", "300")
    assert power(build).needs_made_safe
