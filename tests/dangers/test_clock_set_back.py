"""A server's clock that ran ahead and was set right: what comes afterwards counts as later than what is on record, or
a bad reading would be older than a good one, and a kit that has power would be one made safe."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.bench.gates import gating, sittings
from builds.bench.gates.facts import load_facts
from builds.bench.models import CheckStatus, FittedValve, PowerOn, Sitting
from builds.bench.readings import extras
from builds.bench.readings.self_checks import flagged
from builds.bench.readings.taking import take_reading
from builds.bench.valves import fitting, own_valves
from builds.guides.models import Check
from builds.jobs.models import Job
from builds.jobs.resuming import resume_lost
from builds.notifications.models import Email
from builds.notifications.sending import due
from builds.operations.models import Run
from builds.review import valve_tests
from checks.circuit import Probe
from checks.diagnosis.place import Place
from checks.selfcheck import Trim
from tests import factories

pytestmark = pytest.mark.django_db
NOW = timezone.now()
VALVE = {"ref": "V1", "kind": "triode", "value": "ECC83"}


@pytest.fixture
def clock(monkeypatch):
    """Called with how far it is ahead, it shows that time until it is called again."""

    def show(ahead: timedelta = timedelta()):
        monkeypatch.setattr("django.utils.timezone.now", lambda: NOW + ahead)

    return show


@pytest.fixture
def build():
    return factories.make_build(revision=factories.make_revision(stages=3, parts=[VALVE]))


@pytest.fixture
def live(build):
    return Check.objects.filter(stage__revision=build.revision, stage__power="on")[0]


def state(build, check):
    return load_facts(build).check_states[check.pk]


@pytest.mark.parametrize("ahead", [timedelta(seconds=2), timedelta(hours=1), timedelta(days=400)])
def test_a_reading_that_is_off_counts_after_one_in_band_of_the_wrong_hour(build, live, clock, ahead):
    clock(ahead)
    take_reading(build, live, "300 V", by=build.builder)
    assert state(build, live).passed
    clock()
    take_reading(build, live, "200 V", by=build.builder)
    assert not state(build, live).passed
    assert CheckStatus.objects.get(build=build, check_row=live).latest.attempt == 2
    take_reading(build, live, "300 V", by=build.builder)
    assert state(build, live).passed and state(build, live).attempts == 3


def test_a_kit_that_has_power_is_not_taken_for_made_safe(build, live, clock):
    clock(timedelta(hours=1))
    take_reading(build, live, "300 V", by=build.builder)
    safe = load_facts(build).dated() + timedelta(minutes=1)
    build.made_safes.create(typed="2 V", volts=2, is_safe=True, at=safe)
    assert not gating.find_power(build).needs_made_safe
    clock()
    sittings.switch_on(build, live.stage, PowerOn.Why.AGAIN, by=build.builder, entry_key=uuid4())
    assert gating.find_power(build).needs_made_safe


def test_a_kit_that_is_made_safe_is_believed(client, build, live, clock):
    clock(timedelta(days=400))
    take_reading(build, live, "300 V", by=build.builder)
    clock()
    client.force_login(build.builder)
    fields = {"typed": "2 V", "unit": "V", "entry_key": uuid4()}
    client.post(f"/builds/{build.pk}/make-safe/", fields)
    assert build.made_safes.count() == 1 and not gating.find_power(build).needs_made_safe


def test_a_charged_reservoir_kept_on_a_phone_counts_where_nobody_knows_what_it_came_after(client, build, clock):
    clock(timedelta(hours=1))
    build.made_safes.create(typed="2 V", volts=2, is_safe=True, at=load_facts(build).dated())
    clock()
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    key = str(uuid4())
    kept = {"Entry-Key": key, "Entry-Age": "600", "Outbox": "yes"}
    client.post(f"/builds/{build.pk}/make-safe/", {"typed": "310", "entry_key": key}, headers=kept)
    assert build.made_safes.count() == 2 and gating.find_power(build).needs_made_safe


def test_cautions_of_a_sitting_that_lies_ahead_are_asked_again(build, clock):
    clock(timedelta(hours=3))
    sitting = sittings.open_sitting(build)
    Sitting.objects.filter(pk=sitting.pk).update(seen_at=NOW + timedelta(hours=3))
    assert sittings.current_sitting(build) == sitting
    clock()
    assert sittings.current_sitting(build) is None


def test_a_valve_that_is_changed_makes_the_readings_before_it_outdated(build, live, clock):
    clock(timedelta(hours=1))
    reading = take_reading(build, live, "300 V", by=build.builder)
    clock()
    fitted = fitting.note_fitted(build, "V1", "Make", "", FittedValve.Why.FAULTY, entry_key=uuid4(), by=build.builder)
    assert fitted.at > reading.at


def test_an_entry_kept_on_a_phone_does_not_count_as_later_where_two_machines_clocks_differ_a_little(build, live, clock):
    clock(timedelta(seconds=2))
    take_reading(build, live, "200 V", by=build.builder)
    clock()
    take_reading(build, live, "300 V", by=build.builder, at=NOW - timedelta(minutes=10))
    assert not state(build, live).passed


def test_a_good_reading_kept_on_a_phone_hides_no_bad_one_taken_after_the_clock_was_set_right(build, live, clock):
    """Which of the two came last nobody knows: the one of the wrong hour tells nothing of it."""
    clock(timedelta(hours=1))
    take_reading(build, live, "300 V", by=build.builder)
    clock()
    take_reading(build, live, "200 V", by=build.builder)
    take_reading(build, live, "300 V", by=build.builder, at=NOW - timedelta(minutes=10))
    assert not state(build, live).passed
    take_reading(build, live, "300 V", by=build.builder)
    assert state(build, live).passed


def test_a_phone_that_was_answered_in_the_wrong_hour_makes_no_old_reading_a_new_one(client, build, clock):
    cold = Check.objects.filter(stage__revision=build.revision, stage__key="stage-1").first()
    clock(timedelta(hours=1))
    first = take_reading(build, cold, "300 V", by=build.builder)
    clock()
    take_reading(build, cold, "200 V", by=build.builder)
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    key, floor = str(uuid4()), str(int(first.at.timestamp() * 1000))
    kept = {"Entry-Key": key, "Entry-Age": "600", "Entry-Floor": floor, "Outbox": "yes", "HX-Request": "true"}
    address = reverse("bench:reading", args=[build.pk, "stage-1", cold.key])
    answer = client.post(address, {"typed": "300", "unit": "V", "entry_key": key}, headers=kept)
    assert answer["Entry-Kept"] == key and state(build, cold).attempts == 3
    assert not state(build, cold).passed


def test_a_bad_reading_kept_on_a_phone_counts_where_nobody_knows_what_it_came_after(build, live, clock):
    clock(timedelta(hours=1))
    take_reading(build, live, "300 V", by=build.builder)
    clock()
    take_reading(build, live, "200 V", by=build.builder, at=NOW - timedelta(minutes=10))
    assert not state(build, live).passed


def test_a_good_reading_kept_on_a_phone_passes_no_valve_that_was_changed_meanwhile(build, live, clock):
    clock(timedelta(hours=1))
    take_reading(build, live, "200 V", by=build.builder)
    clock()
    fitting.note_fitted(build, "V1", "Make", "", FittedValve.Why.FAULTY, entry_key=uuid4(), by=build.builder)
    other = Check.objects.filter(stage=live.stage).exclude(pk=live.pk).first()
    take_reading(build, other, "300 V", by=build.builder, at=NOW - timedelta(minutes=10))
    assert not state(build, other).passed


def test_a_kit_made_safe_before_the_power_went_on_again_is_not_made_safe_by_a_phone_that_kept_it(build, live, clock):
    clock(timedelta(hours=1))
    take_reading(build, live, "300 V", by=build.builder)
    clock()
    sittings.switch_on(build, live.stage, PowerOn.Why.AGAIN, by=build.builder, entry_key=uuid4())
    kept = load_facts(build).dated(NOW - timedelta(minutes=10), reassures=True)
    build.made_safes.create(typed="2 V", volts=2, is_safe=True, at=kept)
    assert gating.find_power(build).needs_made_safe


def test_a_stop_counts_after_a_concession_of_the_wrong_hour(build, live, clock):
    take_reading(build, live, "331 V", by=build.builder)
    clock(timedelta(hours=1))
    gating.concede(build, live, by=None, reason="a warm transformer")
    clock()
    assert state(build, live).passed
    assert take_reading(build, live, "451 V", by=build.builder).outcome == "switch off"
    take_reading(build, live, "331 V", by=build.builder)
    assert not state(build, live).passed


def test_a_concession_reaches_no_farther_than_the_reading_it_was_given_for(build, live, clock):
    """Given by a clock that was set back, it would be taken for leave to pass what was read an hour before."""
    clock()
    take_reading(build, live, "400 V", by=build.builder)
    clock(timedelta(hours=1))
    take_reading(build, live, "332 V", by=build.builder)
    clock()
    gating.concede(build, live, by=None, reason="a warm transformer")
    assert state(build, live).passed
    take_reading(build, live, "400 V", by=build.builder)
    assert not state(build, live).passed


@pytest.mark.parametrize("ahead", [timedelta(hours=1), timedelta(days=400)])
def test_of_two_valves_the_one_that_was_fitted_last_is_in_the_socket(build, clock, ahead):
    clock(ahead)
    fitting.note_fitted(build, "V1", "Make", "one", FittedValve.Why.FIRST, entry_key=uuid4(), by=build.builder)
    clock()
    fitting.note_fitted(build, "V1", "Make", "two", FittedValve.Why.FAULTY, entry_key=uuid4(), by=build.builder)
    assert [row.code for row in fitting.by_socket(build)["V1"]] == ["one", "two"]


def test_a_reading_after_a_valve_of_the_wrong_hour_is_one_of_that_valve(build, live, clock):
    clock(timedelta(hours=1))
    fitting.note_fitted(build, "V1", "Make", "one", FittedValve.Why.FIRST, entry_key=uuid4(), by=build.builder)
    fitted = fitting.note_fitted(
        build, "V1", "Make", "two", FittedValve.Why.FAULTY, entry_key=uuid4(), by=build.builder
    )
    clock()
    assert take_reading(build, live, "300 V", by=build.builder).at > fitted.at


def test_a_valves_test_that_is_taken_back_holds_no_longer(build, clock):
    figures = {"type": "ECC83", "anode_volts": 250, "grid_volts": -2, "anode_amps": 0.0012}
    ahead = NOW + timedelta(hours=1)
    build.valve_tests.create(ref="V1", section="a", at=ahead, **figures)
    clock()
    valve_tests.withdraw_test(build, "V1", "a", None)
    assert own_valves.list_tests(build) == {}


def test_a_tick_of_the_wrong_hour_can_be_taken_back_and_set_again(client, build, clock):
    step = build.revision.stages.first().steps.first()
    address = reverse("bench:tick", args=[build.pk, step.stage.key, step.key])
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")

    def tick(done: str):
        client.post(address, {"done": done}, headers={"Entry-Key": str(uuid4()), "Entry-Age": "0", "Outbox": "yes"})
        return step.pk in load_facts(build).ticked

    clock(timedelta(hours=1))
    assert tick("yes")
    clock()
    assert not tick("no")
    clock(timedelta(hours=1))
    assert tick("yes") and not tick("no")
    clock()
    assert tick("yes")


def measured(build, typed):
    """An extra reading between two points of the circuit."""
    place = Place("", "", Probe("V1.7", "chassis", "resistance"), "off", part="R1")
    return extras.take_extra(build, place, typed, entry_key=uuid4(), by=build.builder)


def test_what_was_measured_beside_the_guide_after_a_check_of_the_wrong_hour_still_counts(build, live, clock):
    take_reading(build, live, "200 V", by=build.builder)
    clock(timedelta(hours=1))
    take_reading(build, live, "300 V", by=build.builder)
    clock()
    row = measured(build, "47.0 kΩ")
    assert extras.latest_since_mending(build) == [row]


def test_what_was_measured_in_the_wrong_hour_before_the_kit_was_mended_counts_no_more(build, live, clock):
    take_reading(build, live, "200 V", by=build.builder)
    clock(timedelta(hours=1))
    measured(build, "47.0 kΩ")
    clock()
    take_reading(build, live, "300 V", by=build.builder)
    assert extras.latest_since_mending(build) == []


def test_of_two_readings_of_a_place_the_one_taken_last_counts(build, live, clock):
    clock(timedelta(hours=1))
    measured(build, "47.0 kΩ")
    clock()
    later = measured(build, "100.0 kΩ")
    assert extras.latest_since_mending(build) == [later]


def test_a_meter_out_of_trim_is_not_hidden_by_an_older_check_of_the_wrong_hour(clock):
    piece = {"ref": "RT", "kind": "test resistor", "value": "10 kΩ"}
    builder = factories.make_builder()
    meter = factories.make_meter(owner=builder)
    build = factories.make_build(revision=factories.make_revision(parts=[piece]), builder=builder, meter=meter)
    row = {"meter": build.meter, "part": build.revision.parts.get(ref="RT"), "typed": "10"}
    build.meter_checks.create(trim=Trim.IN_TRIM, at=NOW + timedelta(hours=1), **row)
    build.meter_checks.create(trim=Trim.OUT_OF_TRIM, at=NOW, **row)
    assert len(flagged(build)) == 1


def test_work_behind_the_scenes_does_not_wait_for_the_wrong_year(build, clock):
    far = NOW + timedelta(days=400)
    Run.note("daily", {}, far)
    Job.objects.create(kind="archive", key="x", state=Job.State.RUNNING, seen_at=far)
    letter = {"person": build.builder, "subject": "s", "body": "b"}
    Email.objects.create(key="1", state=Email.State.FAILED, attempts=1, next_at=far, **letter)
    Email.objects.create(key="2", state=Email.State.SENDING, attempts=1, taken_at=far, **letter)
    clock()
    assert Run.is_due("daily") and due().count() == 2
    assert resume_lost() == 0 and resume_lost(NOW + timedelta(minutes=1)) == 1
    Run.note("daily", {}, NOW)
    assert not Run.is_due("daily")
