"""Dangers found by attacking the bench: units lost on the way, live kits read without power, old pages posted later."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.bench.forms import MadeSafeForm
from builds.bench.gates import gating
from builds.bench.models import MadeSafe, Reading
from builds.bench.moves import moving
from builds.bench.readings.taking import take_reading
from builds.guides.models import Check, Revision
from builds.ui.messages import moves
from checks.entry import in_unit
from checks.meter import PRESETS
from checks.quantity import parse_quantity
from tests import factories
from tests.dangers import driving

pytestmark = pytest.mark.django_db
BACKEND = "django.contrib.auth.backends.ModelBackend"


@pytest.mark.parametrize(
    ("key", "typed", "button"),
    [
        ("bias", "- 30", "mV"),
        ("bias", "－30", "mV"),
        ("bias", "-" + "0" * 37 + "30", "mV"),
        ("heater", "6.3 AC", "mV"),
        ("heater", "6.3~", "mV"),
        ("bplus", "300 DC", "mV"),
        ("bplus", "300.0dc", "mV"),
        ("r100k", "100\u202f000", "kΩ"),
        ("earth", "０．３", "MΩ"),
        ("earth", "+ 0.3", "MΩ"),
        ("winding", "１２．０", "kΩ"),
        ("winding", "0" * 36 + "12.0", "kΩ"),
    ],
)
def test_the_unit_pressed_is_never_lost_however_the_number_is_written(client, key, typed, button):
    build, checks = driving.make_bench()
    client.force_login(build.builder, backend=BACKEND)
    outcome = driving.answer_by_post(client, build, checks[key], typed, button)
    assert outcome in ("out", "stop", "refuse", "ask_sure")


@pytest.mark.parametrize(
    ("typed", "button", "wanted"),
    [
        ("470.0", "MΩ", "ask_sure"),
        ("100", "MΩ", "ask_sure"),
        ("470 MΩ", None, "ask_sure"),
        ("470.0", "kΩ", "out"),
        ("60.00", "MΩ", "pass"),
        ("25000", "kΩ", "pass"),
        ("OL", "MΩ", "pass"),
        ("2000", "MΩ", "ask_sure"),
        ("60000", "MΩ", "ask_sure"),  # 60 kΩ typed in ohms; no simple insulation tester shows as much
    ],
)
def test_an_insulation_of_kilohms_does_not_pass_by_the_megohm_button(client, typed, button, wanted):
    """Hand-held meters show 60 MΩ at most (common practice): 470.0 beside MΩ was 470.0 kΩ. What fails comes first."""
    build, checks = driving.make_bench()
    client.force_login(build.builder, backend=BACKEND)
    assert driving.answer_by_post(client, build, checks["insulation"], typed, button) == wanted


def test_megohms_that_an_insulation_tester_shows_are_kept_once_confirmed(client):
    build, checks = driving.make_bench()
    client.force_login(build.builder, backend=BACKEND)
    check = checks["insulation"]
    entry = {"typed": "470", "unit": "MΩ", "sure": "on", "entry_key": str(uuid4())}
    client.post(reverse("bench:reading", args=[build.pk, check.stage.key, check.key]), entry)
    assert Reading.objects.get().outcome == "in band"


def test_a_kind_stays_behind_the_unit_that_was_pressed():
    assert parse_quantity(in_unit("300 DC", "mV"), "V") == parse_quantity("300 mV dc", "V")
    assert in_unit("300 V DC", "mV") == "300 V DC"


@pytest.fixture
def live(client):
    """A first stage without power that is done, a second one whose cautions were just read: the kit has power."""
    revision = factories.make_revision(stages=2, checks=1, steps=0)
    build = factories.make_build(revision=revision)
    factories.add_reading(build=build, check=factories.checks_of(revision=revision)[0])
    client.force_login(build.builder, backend=BACKEND)
    client.post(reverse("bench:cautions", args=[build.pk, "stage-2"]), {"read": "on", "mains": "230"})
    assert gating.find_power(build).needs_made_safe
    return build


@pytest.mark.parametrize("headers", [{}, {"HX-Request": "true"}])
def test_a_check_of_a_done_stage_is_not_read_again_while_the_kit_has_power(client, live, headers):
    check = [live.pk, "stage-1", "check-1-1"]
    safe = reverse("bench:make-safe", args=[live.pk])
    assert client.get(reverse("bench:check", args=check)).status_code == 200  # what was read may be looked at
    asked = client.get(reverse("bench:check", args=check) + "?measure")
    assert asked.status_code == 302 and asked["Location"].startswith(safe)
    entry = {"typed": "300.0", "unit": "V", "entry_key": str(uuid4())}
    sent = client.post(reverse("bench:reading", args=check), entry, headers=headers)
    assert safe in (sent.headers.get("Location") or sent.headers.get("HX-Redirect") or "")
    assert Reading.objects.count() == 1


def test_an_old_made_safe_page_sent_again_makes_nothing_safe_and_does_not_say_so(client, live):
    address, entry = reverse("bench:make-safe", args=[live.pk]), {"typed": "0.5", "entry_key": str(uuid4())}
    assert [client.post(address, entry).status_code for _tap in range(2)] == [302, 302]  # a double tap
    client.post(reverse("bench:cautions", args=[live.pk, "stage-2"]), {"read": "on"})
    assert client.post(address, entry).status_code == 422
    assert MadeSafe.objects.count() == 1 and gating.find_power(live).needs_made_safe


def make_issued(figures: dict, kit=None, letter="A", **mains) -> Revision:
    """A revision of one check, 300 V ± 10 % but for `figures`."""
    made = factories.make_revision(kit=kit, letter=letter, stages=1, checks=1, steps=0, issued=False)
    Check.objects.filter(stage__revision=made).update(**figures)
    Revision.objects.filter(pk=made.pk).update(state="issued", issued_at=timezone.now(), **mains)
    return Revision.objects.get(pk=made.pk)


def read_on(revision: Revision, typed: str):
    build = factories.make_build(revision=revision)
    taken = take_reading(build, Check.objects.get(stage__revision=revision), typed, by=build.builder, mains_volts=230.0)
    assert taken.outcome == "in band"
    return build


@pytest.mark.parametrize(("mains", "carried"), [({}, 1), ({"mains_volts": 240, "taps": [120, 240]}, 0)])
def test_a_reading_is_not_carried_to_figures_that_hold_at_another_mains(mains, carried):
    """325 V at 230 V mains is 339 V at 240 V (proportion), and the band ends at 330 V."""
    first = make_issued({"mains_exponent": 1.0})
    later = make_issued({"mains_exponent": 1.0}, first.kit, "B", **mains)
    assert len(moving.make_plan(read_on(first, "325.0"), later).checks) == carried


@pytest.mark.parametrize(("low", "carried"), [("272 V", 1), ("285 V", 0)])
def test_a_reading_is_carried_with_the_meter_that_took_it(low, carried):
    """277 V is 280 V without the load of 10 MΩ on 100 kΩ; with one of 1 MΩ it would be 305 V (voltage divider)."""
    first = make_issued({"source_resistance": "100 kΩ"})
    band = {"expected": "", "band": "", "low": low, "high": "325 V"}
    later = make_issued({"source_resistance": "100 kΩ", **band}, first.kit, "B")
    build = read_on(first, "277.0")
    build.meter.spec = PRESETS["basic"].as_dict()
    build.meter.save()
    assert len(moving.make_plan(build, later).checks) == carried


@pytest.mark.parametrize(("later", "passed"), [("340.5", True), ("0.0", False), ("260.0", False), ("395.0", False)])
def test_a_concession_passes_no_worse_reading_than_the_one_that_was_conceded(later, passed):
    revision = make_issued({})
    build, check = factories.make_build(revision=revision), Check.objects.get(stage__revision=revision)
    take_reading(build, check, "340.0", by=build.builder)
    gating.concede(build, check, by=None, reason="Read so on the prototype.")
    assert build.statuses.get().passed
    take_reading(build, check, later, by=build.builder)
    assert build.statuses.get().passed is passed


def test_a_concession_given_before_a_stop_or_before_any_reading_passes_nothing():
    revision = make_issued({})
    check = Check.objects.get(stage__revision=revision)
    for first in ((), ("340.0",)):
        build = factories.make_build(revision=revision)
        for typed in first:
            take_reading(build, check, typed, by=build.builder)
        gating.concede(build, check, by=None, reason="Read so on the prototype.")
        for typed in ("450.0", "340.0") if first else ("340.0",):
            take_reading(build, check, typed, by=build.builder)
        assert not build.statuses.get().passed


@pytest.mark.parametrize("typed", ["300 m", "58m", "59.9mV", "300 mV", "300.0 µV", "61 uV", "310 nV"])
def test_no_millivolts_make_a_kit_safe(typed):
    """59.9 V on a meter whose unit was read wrongly is "59.9 mV" on paper."""
    form = MadeSafeForm({"typed": typed, "entry_key": uuid4()})
    refusal = "not-shown" if "nV" in typed else "milli"  # no meter shows nanovolts
    assert not form.is_valid() and form.errors.as_data()["typed"][0].code == refusal


@pytest.mark.parametrize("typed", ["0.3", "2.1 V", "0.0", "0.06 kV"])
def test_volts_are_read_when_a_kit_is_made_safe(typed):
    assert MadeSafeForm({"typed": typed, "entry_key": uuid4()}).is_valid()


def test_no_move_leaves_a_standing_stop_behind():
    build = factories.make_build()
    check = factories.checks_of(revision=build.revision)[0]
    later = factories.make_revision(kit=build.revision.kit, letter="B")
    factories.add_reading(build=build, check=check, value=450.0, outcome="switch off")
    MadeSafe.objects.create(build=build, typed="2", volts=2.0, is_safe=True, at=timezone.now() + timedelta(days=400))
    assert moving.obstacle(build, later) == moves.stop_is_active()
