"""Readings that passed by a valve, a mains voltage or a guide's figures that have been changed since."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from builds.bench.errata import reopen_corrected
from builds.bench.gates import gating
from builds.bench.models import Build, Carried, Erratum, MadeSafe, PowerOn, Tick
from builds.bench.offline.judging import rules_for
from builds.bench.readings.context import build_context
from builds.bench.readings.taking import take_reading
from builds.guides.models import Check, Revision, Step
from tests import factories

pytestmark = pytest.mark.django_db
BACKEND = "django.contrib.auth.backends.ModelBackend"
VALVE = {"ref": "V1", "kind": "twin triode", "detail": {"type": "ECC83", "base": "B9A"}}


def make_build(taps=(115, 230), exponent=None, **fields):
    """A powered stage with a reading at V1 and one at the supply."""
    revision = factories.make_revision(stages=2, checks=2, steps=1, parts=(VALVE,), issued=False)
    Check.objects.filter(stage__revision=revision, key="check-2-1").update(red="V1.1", mains_exponent=exponent)
    Step.objects.filter(stage__revision=revision).update(hands_in=True)
    Revision.objects.filter(pk=revision.pk).update(state="issued", issued_at=timezone.now(), taps=list(taps))
    return factories.make_build(revision=Revision.objects.get(pk=revision.pk), **fields)


@pytest.fixture
def moved(client):
    """A build that took all its readings along from an earlier revision."""
    before, build = factories.make_build(), make_build()
    for check in factories.checks_of(revision=build.revision):
        reading = factories.reading_row(build=before, check=check)
        reading.save()
        Carried.objects.create(build=build, check_row=check, reading=reading)
    client.force_login(build.builder, backend=BACKEND)
    return build


def check_of(build, key):
    return Check.objects.select_related("stage__revision").get(stage__revision=build.revision, key=key)


def post(client, build, name, data, *place, **more):
    data = data | {"entry_key": str(uuid4())}
    return client.post(reverse(f"bench:{name}", args=[build.pk, *place]), data, **more)


def note_valve(client, build, make, why=""):
    assert post(client, build, "valves", {"ref": "V1", "make": make, "why": why}).status_code == 302


def passing(build):
    state = gating.stage_states(build)[1]
    return state.passed


def test_a_reading_that_came_along_passes_no_longer_once_its_valve_is_swapped(client, moved):
    note_valve(client, moved, "Kestrel")
    assert passing(moved) == 2
    note_valve(client, moved, "Northlight", "doubt")
    assert passing(moved) == 1
    assert [row.check_row.key for row in moved.carried.filter(check_row__stage__power="on")] == ["check-2-2"]


def test_a_primary_is_not_rewired_under_readings_that_came_along(client, moved):
    answer = post(client, moved, "settings", {"mains_volts": 120, "mains_hertz": 60, "meter": moved.meter_id})
    assert answer.status_code == 422
    assert answer.context["form"].errors.as_data()["mains_volts"][0].code == "rewired"


def test_a_reading_outside_its_band_at_the_mains_corrected_later_passes_no_longer(client):
    """248 V is 8 % below the band: 110 V may lie 10 % low, 120 V no more than 5 % (ANSI C84.1 range A, service)."""
    build = make_build(taps=(115,), exponent=1.0, mains_volts=110)
    client.force_login(build.builder, backend=BACKEND)
    take_reading(build, check_of(build, "check-2-1"), "248 V", by=build.builder)
    assert build.statuses.get().passed
    MadeSafe.objects.create(build=build, typed="1.0", volts=1.0, is_safe=True)
    answer = post(client, build, "settings", {"mains_volts": 120, "mains_hertz": 60, "meter": build.meter_id})
    assert answer.status_code == 302 and Build.objects.get(pk=build.pk).mains_volts == 120
    assert not build.statuses.get().passed
    assert "1 reading is not within its band at this mains voltage" in client.get(answer["Location"]).content.decode()


@pytest.fixture
def corrected():
    """A reading in band, and a correction of its check published afterwards."""
    build = make_build()
    take_reading(build, check_of(build, "check-1-1"), "325 V", by=build.builder)
    assert build.statuses.get().passed
    desk = Client()
    desk.force_login(build.revision.kit.designers.get(), backend=BACKEND)
    answer = desk.post(
        reverse("review:errata", args=[build.revision.kit.key, build.revision.letter]),
        {"about": "check:stage-1/check-1-1", "words": "At most 310 V.", "entry_key": str(uuid4())},
    )
    assert answer.status_code == 302
    return build


def test_a_reading_passes_no_longer_once_its_check_is_corrected(corrected):
    assert not corrected.statuses.get().passed


def test_a_correction_of_another_place_asks_for_no_reading_again():
    build = make_build()
    take_reading(build, check_of(build, "check-1-1"), "325 V", by=build.builder)
    row = Erratum.objects.create(revision=build.revision, stage=build.revision.stages.first(), words="Blue.")
    reopen_corrected(row)
    assert build.statuses.get().passed


@pytest.mark.parametrize("door", ["reading", "grid-reading"])
def test_a_reading_by_the_figures_as_issued_is_not_called_right_where_they_were_corrected(client, corrected, door):
    client.force_login(corrected.builder, backend=BACKEND)
    Tick.objects.create(build=corrected, step=Step.objects.get(key="step-1-1"))
    client.post(reverse("bench:confirm-erratum", args=[corrected.pk, Erratum.objects.get().pk]))
    for headers in ({"HX-Request": "true"}, {}):
        typed = {"typed": "325", "unit": "V"}
        answer = post(client, corrected, door, typed, "stage-1", "check-1-1", headers=headers, follow=True)
        said = answer.content.decode()
        verdict = said.partition('id="verdict"')[2].partition("</section>")[0] or said  # of a row, the whole answer
        assert "this verdict still uses the old figures" in verdict and "This is right" not in verdict


def test_a_phone_says_no_more_than_a_stop_where_the_check_was_corrected(corrected):
    context = build_context(corrected, check_of(corrected, "check-1-1"), None)
    rules = rules_for(context, is_corrected=True)
    assert rules["powers"] == {} and rules["above"] == 400.0
    assert rules_for(context)["powers"]


def test_a_reading_made_before_the_correction_and_sent_after_it_does_not_pass(corrected):
    at = timezone.now() - timedelta(minutes=20)
    other = factories.make_build(revision=corrected.revision)
    reading = take_reading(other, check_of(other, "check-1-1"), "300 V", by=other.builder, at=at)
    assert reading.outcome == "in band" and not other.statuses.get().passed


def test_hands_that_went_in_while_the_kit_was_live_are_not_ticked_once_it_is_made_safe(client):
    """A phone without a connection did not know of power that another device put on record."""
    build, now = make_build(), timezone.now()
    client.force_login(build.builder, backend=BACKEND)
    PowerOn.objects.create(build=build, at=now - timedelta(hours=2))
    MadeSafe.objects.create(build=build, typed="1.0", volts=1.0, is_safe=True, at=now - timedelta(minutes=30))
    headers = {"Entry-Key": str(uuid4()), "Outbox": "1"}
    for age, taken in ((3600, False), (600, True)):
        sent = post(client, build, "tick", {}, "stage-1", "step-1-1", headers=headers | {"Entry-Age": str(age)})
        assert ("Entry-Kept" in sent) == taken and Tick.objects.exists() == taken
