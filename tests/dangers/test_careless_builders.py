"""Builders who are tired, alone, and have two tabs open: what they do out of order makes nothing safe and passes
nothing."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from builds.accounts.models import Meter
from builds.bench.gates.sittings import acknowledge, current_sitting, open_sitting
from builds.bench.models import CheckStatus, MadeSafe, PowerOn, Reading, Sitting, Tick
from builds.guides.models import Check, Revision, Step
from checks.band import Band
from checks.meter import Accuracy, MeterSpec, measure
from checks.outcomes import Outcome
from checks.quantity import parse_quantity
from checks.verdict import judge_at_line
from tests import factories

pytestmark = pytest.mark.django_db
BACKEND = "django.contrib.auth.backends.ModelBackend"


@pytest.fixture
def build():
    """A stage without power, then one with power whose second step fits the valves."""
    return make_build(steps=2)


@pytest.fixture
def wired():
    """The same with checks alone."""
    return make_build(steps=0)


def make_build(steps):
    revision = factories.make_revision(stages=2, checks=2, steps=steps, gate=False, issued=False)
    Step.objects.filter(stage__revision=revision, key="step-2-2").update(hands_in=True)
    Check.objects.filter(stage__revision=revision).update(mains_exponent=1.0)
    Revision.objects.filter(pk=revision.pk).update(state="issued", issued_at=timezone.now())
    return factories.make_build(revision=Revision.objects.get(pk=revision.pk))


def phone_of(build) -> Client:
    client = Client()
    client.force_login(build.builder, backend=BACKEND)
    return client


def begin(build) -> None:
    acknowledge(open_sitting(build), build.revision.stages.get(key="stage-2"), 230.0)


def read(phone, build, check, typed, key=None):
    data = {"typed": typed, "unit": "V", "entry_key": str(key or uuid4())}
    return phone.post(reverse("bench:reading", args=[build.pk, f"stage-{check[6]}", check]), data)


def fit_valves(phone, build):
    return phone.post(reverse("bench:tick", args=[build.pk, "stage-2", "step-2-2"]), {"done": "yes"})


def make_safe(phone, build, typed, key=None):
    return phone.post(reverse("bench:make-safe", args=[build.pk]), {"typed": typed, "entry_key": str(key or uuid4())})


def settings(phone, build, volts):
    return phone.post(
        reverse("bench:settings", args=[build.pk]),
        {"mains_volts": volts, "mains_hertz": 50, "meter": build.meter_id or meter_of(build)},
    )


def meter_of(build) -> int:
    return Meter.objects.create(
        owner=build.builder, name="Own", spec=MeterSpec("digital", *[Accuracy(1, 3)] * 3, input_ohms=10e6).as_dict()
    ).pk


def fitted() -> bool:
    return Tick.objects.filter(step__key="step-2-2").exists()


@pytest.mark.lengthy
def test_valves_fitted_live_from_a_page_opened_before_the_power(build):
    """The page was fetched, and its form filled, while the kit was dead; another tab switched it on."""
    tab, other = phone_of(build), phone_of(build)
    begin(build)
    make_safe(tab, build, "0.4")
    tab.get(reverse("bench:stage", args=[build.pk, "stage-2"]))
    other.post(reverse("bench:switch-on", args=[build.pk, "stage-2"]), {"entry_key": str(uuid4())})
    assert fit_valves(tab, build).status_code == 409 and not fitted()


@pytest.mark.parametrize("typed", ["316", "59.9", "1", "OL", "0 mV", "", "0.4 V ac", "1,400", "58 60"])
def test_a_made_safe_typed_in_a_hurry_lets_no_valves_in(build, typed):
    phone = phone_of(build)
    begin(build)
    make_safe(phone, build, typed)
    assert fit_valves(phone, build).status_code == 409 and not fitted()


def test_yesterdays_made_safe_says_nothing_of_todays_power(build):
    phone, key = phone_of(build), uuid4()
    begin(build)
    make_safe(phone, build, "0.4", key)
    PowerOn.objects.create(build=build, why="again", at=timezone.now())
    make_safe(phone, build, "0.4", key)  # the back button, and the form sent once more
    assert fit_valves(phone, build).status_code == 409 and not fitted()


def test_back_after_a_stop_no_form_of_the_old_page_is_taken(wired):
    phone = phone_of(wired)
    begin(wired)
    assert read(phone, wired, "check-2-1", "450.0")["Location"] == reverse("bench:stop", args=[wired.pk])
    kept = Reading.objects.count()
    read(phone, wired, "check-2-1", "300.0")
    read(phone, wired, "check-2-2", "300.0")
    read(phone, wired, "check-1-1", "300.0")
    assert Reading.objects.count() == kept and not CheckStatus.objects.filter(passed=True).exists()
    assert phone.get(reverse("bench:stage", args=[wired.pk, "stage-2"])).status_code == 302


def test_two_phones_at_a_stop_are_both_stopped(wired):
    first, second = phone_of(wired), phone_of(wired)
    begin(wired)
    read(first, wired, "check-2-1", "450.0")
    answer = read(second, wired, "check-2-2", "300.0")
    assert answer.status_code == 302 and answer["Location"] == reverse("bench:stop", args=[wired.pk])
    assert not Reading.objects.filter(check_row__key="check-2-2").exists()


def test_after_a_week_power_is_still_on_record_and_the_cautions_are_asked_again(build):
    phone, week = phone_of(build), timezone.now() - timedelta(days=7)
    PowerOn.objects.create(build=build, stage=build.revision.stages.get(key="stage-2"), why="cautions", at=week)
    sitting = Sitting.objects.create(build=build, begun_at=week, mains_asked_at=week)
    Sitting.objects.update(begun_at=week, seen_at=week)
    sitting.acknowledgements.create(stage=build.revision.stages.get(key="stage-2"))
    answer = read(phone, build, "check-2-1", "300.0")
    assert answer.status_code in (302, 409) and not Reading.objects.exists()
    fit_valves(phone, build)
    begin(build)
    assert fit_valves(phone, build).status_code == 409 and not fitted()


def test_the_wrong_mains_is_not_put_right_by_a_setting(wired):
    """300 V was read with the primary wired for 230 V; on 115 V it is another tap, and nothing of it holds."""
    phone = phone_of(wired)
    begin(wired)
    read(phone, wired, "check-2-1", "300.0")
    MadeSafe.objects.create(build=wired, typed="0.4", volts=0.4, is_safe=True)
    assert settings(phone, wired, 115).status_code == 422
    wired.refresh_from_db()
    assert wired.mains_volts == 230


def test_no_primary_is_rewired_while_the_kit_has_power(build):
    phone = phone_of(build)
    begin(build)
    assert settings(phone, build, 115).status_code == 422
    make_safe(phone, build, "0.4")
    assert settings(phone, build, 115).status_code == 302  # nothing was read yet


def test_other_mains_on_the_same_tap_ask_for_the_volts_again(wired):
    """231 V was measured of mains that the builder took for 230 V; the next band is not moved by it unasked."""
    phone = phone_of(wired)
    begin(wired)
    read(phone, wired, "check-2-1", "300.0")
    assert settings(phone, wired, 240).status_code == 302
    wired.refresh_from_db()
    assert (wired.mains_volts, current_sitting(wired)) == (240, None)


def test_what_was_typed_twice_without_measuring_confirms_no_reading_that_is_out(wired):
    phone = phone_of(wired)
    begin(wired)
    for _again in range(3):
        read(phone, wired, "check-2-1", "331")
    assert not CheckStatus.objects.filter(build=wired, passed=True).exists()


def test_a_reading_for_another_check_under_the_same_key_is_asked_about(wired):
    """Two tabs restored by the browser carry one key: the second reading is not lost and not taken for the first."""
    phone, key = phone_of(wired), uuid4()
    begin(wired)
    read(phone, wired, "check-2-1", "300.0", key)
    answer = read(phone, wired, "check-2-2", "270.0", key)
    assert answer.status_code == 422 and Reading.objects.count() == 1


def test_a_borrowed_meter_that_takes_most_of_the_volts_confirms_nothing():
    """A needle of 1 kΩ/V behind 470 kΩ: the dead grid of 0.3 V would be corrected to 14 V, a fine bias."""
    needle = MeterSpec("digital", *[Accuracy(1, 2)] * 3, input_ohms=10e3)
    verdict = judge_at_line(
        measure(parse_quantity("0.300", "V"), "dc volts", needle, source_ohms=470e3), Band(10.0, 20.0)
    )
    assert verdict.outcome is Outcome.TOO_CLOSE and not verdict.confirms


@pytest.mark.lengthy
def test_a_signed_off_build_is_not_touched_by_an_old_tab(build):
    phone = phone_of(build)
    begin(build)
    build.finished_at = timezone.now()
    build.save(update_fields=["finished_at"])
    read(phone, build, "check-2-1", "300.0")
    fit_valves(phone, build)
    assert not Reading.objects.exists() and not fitted()


def test_a_reading_of_another_builders_kit_is_not_found(wired):
    stranger = factories.make_build(revision=wired.revision)
    begin(wired)
    assert read(phone_of(stranger), wired, "check-2-1", "300.0").status_code == 404
