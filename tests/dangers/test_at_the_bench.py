"""Dangers between the reading and the pass, at the bench and where a build is made or joined."""

from uuid import uuid4

import pytest
from django.db import DatabaseError, connection, transaction
from django.urls import reverse
from django.utils import timezone

from builds.accounts.models import Invitation, Meter
from builds.bench.models import Build, CheckStatus, MadeSafe, Reading
from builds.bench.moves.moving import obstacle
from builds.bench.readings.mains import find_line, list_taps
from builds.bench.readings.taking import take_reading
from builds.guides.models import Check, Revision
from tests import factories

pytestmark = pytest.mark.django_db
BACKEND = "django.contrib.auth.backends.ModelBackend"
PRIMARY_115 = {
    "ref": "T1",
    "kind": "mains transformer",
    "value": "",
    "detail": {"winding": [{"name": "primary", "volts": "115 V"}, {"name": "ht", "volts": "250 V"}]},
}


@pytest.fixture
def build():
    revision = factories.make_revision(stages=1, checks=1, steps=0, issued=False)
    Check.objects.filter(stage__revision=revision).update(
        measure="continuity", expected="", band="", at_most="500 mΩ", stop_above=""
    )
    return factories.make_build(revision=revision)


@pytest.fixture
def phone(client, build):
    client.force_login(build.builder, backend=BACKEND)
    return client


def read(build, typed, **more):
    return take_reading(build, build.revision.stages.get().checks.get(), typed, by=build.builder, **more)


def status() -> CheckStatus:
    return CheckStatus.objects.get()


def test_three_ohms_typed_twice_is_no_earth_bond(phone, build):
    address = reverse("bench:reading", args=[build.pk, "stage-1", "check-1-1"])
    for _again in range(3):
        phone.post(address, {"typed": "3", "unit": "Ω", "entry_key": str(uuid4())})
    assert status().attempts == 3 and not status().passed


@pytest.mark.parametrize("typed", ["1m", "2.2m"])
@pytest.mark.parametrize("unit", ["", "Ω", "MΩ"])
def test_an_open_earth_typed_with_a_small_m_is_no_earth_bond(phone, build, typed, unit):
    address = reverse("bench:reading", args=[build.pk, "stage-1", "check-1-1"])
    answer = phone.post(address, {"typed": typed, "unit": unit, "entry_key": str(uuid4())})
    assert answer.status_code == 422 and not Reading.objects.exists()


def test_two_that_lie_in_band_confirm_each_other_and_one_that_lies_out_confirms_nothing(build):
    Check.objects.update(measure="dc volts", at_most="", low="270 V", high="330 V")
    read(build, "331")
    read(build, "329.5")
    assert (status().outcome, status().passed) == ("too close to call", False)
    read(build, "329.5")
    assert status().passed


def test_an_entry_that_corrects_a_slip_confirms_nothing(build):
    Check.objects.update(measure="dc volts", at_most="", low="270 V", high="330 V")
    read(build, "329.5")
    read(build, "329.5", is_slip=True)
    assert not status().passed


def test_a_later_slip_leaves_the_first_outcome_as_it_was(build):
    Check.objects.update(measure="dc volts", at_most="", low="270 V", high="330 V")
    read(build, "350")
    read(build, "30.0")
    read(build, "300.0", is_slip=True)
    assert (status().first_outcome, status().outcome) == ("out of band", "in band")


def test_a_slip_in_the_first_attempt_was_no_reading_of_the_kit(build):
    Check.objects.update(measure="dc volts", at_most="", low="270 V", high="330 V")
    read(build, "30.0")
    read(build, "300.0", is_slip=True)
    assert status().first_outcome == "in band"


def test_over_range_below_zero_is_told_from_over_range(build):
    Check.objects.update(measure="dc volts", at_most="", at_least="200 V")
    below = read(build, "-OL")
    assert (below.outcome, below.below_range, below.over_range, below.deviation) == ("out of band", True, False, -99.0)


def test_a_reading_in_milliohms_finer_than_the_leads_confirms_only_by_its_tenths(build):
    read(build, "300 mΩ")
    assert (status().outcome, status().passed) == ("too close to call", False)


def test_the_database_still_refuses_to_change_a_reading(build):
    taken = read(build, "0.1")
    for facts in ({"value": 0.2}, {"outcome": "in band", "typed": "0.2"}):
        with pytest.raises(DatabaseError), transaction.atomic():
            Reading.objects.filter(pk=taken.pk).update(**facts)
    assert connection.needs_rollback is False


@pytest.mark.parametrize(("typed", "is_safe"), [("58.0", True), ("59.9", False), ("59", False), ("58.0 V", True)])
def test_made_safe_is_below_the_limit_whatever_the_meter_hides(phone, build, typed, is_safe):
    phone.post(reverse("bench:make-safe", args=[build.pk]), {"typed": typed, "entry_key": str(uuid4())})
    assert MadeSafe.objects.get().is_safe is is_safe


@pytest.mark.parametrize("typed", ["1", "1.", "-1", "1 V"])
def test_over_range_shown_as_a_1_alone_makes_nothing_safe(phone, build, typed):
    """On its 20 V range a meter of 2000 counts shows 300 V as a 1 (common practice)."""
    answer = phone.post(reverse("bench:make-safe", args=[build.pk]), {"typed": typed, "entry_key": str(uuid4())})
    assert answer.status_code == 422 and not MadeSafe.objects.exists()
    phone.post(reverse("bench:make-safe", args=[build.pk]), {"typed": "1.0", "entry_key": str(uuid4())})
    assert MadeSafe.objects.get().is_safe


def test_over_range_shown_as_a_1_alone_is_no_bond(phone, build):
    Check.objects.update(at_most="2 Ω")
    address = reverse("bench:reading", args=[build.pk, "stage-1", "check-1-1"])
    for _again in range(2):
        answer = phone.post(address, {"typed": "1", "unit": "Ω", "entry_key": str(uuid4())})
        assert answer.status_code == 422 and not Reading.objects.exists()


@pytest.mark.parametrize("typed", ["0 VAC", "0~", "OL", "-OL", "1,234", "3 16"])
def test_nothing_in_doubt_makes_safe(phone, build, typed):
    """A supply at 300 V DC reads next to nothing on AC."""
    answer = phone.post(reverse("bench:make-safe", args=[build.pk]), {"typed": typed, "entry_key": str(uuid4())})
    assert answer.status_code == 422 and not MadeSafe.objects.exists()


# The wrong mains


def make_american(mains_volts=115) -> Revision:
    """A kit whose transformer has a primary for 115 V and no taps named."""
    revision = factories.make_revision(stages=1, checks=1, steps=0, issued=False, parts=(PRIMARY_115,))
    Check.objects.filter(stage__revision=revision).update(
        expected="283 V", band="10%", stop_above="450 V", mains_exponent=1.0
    )
    Revision.objects.filter(pk=revision.pk).update(
        taps=[], mains_volts=mains_volts, state="issued", issued_at=timezone.now()
    )
    return Revision.objects.get(pk=revision.pk)


@pytest.fixture
def american():
    return make_american()


def test_the_primarys_own_volts_are_the_taps_where_none_are_named(american):
    assert list_taps(american) == [115.0]


def test_twice_the_volts_on_the_wrong_mains_are_no_pass(american):
    build = factories.make_build(revision=american, mains_volts=230)
    assert find_line(build, None).factor == pytest.approx(1.1)
    assert read(build, "566").outcome == "switch off"
    assert read(build, "350", mains_volts=230.0).outcome == "out of band"


def test_the_mains_is_refused_where_a_build_is_taken_on(client, american):
    invitation, token = Invitation.make(Invitation.Purpose.BUILD, made_by=None)
    build = Build.objects.create(revision=american, serial="7", invitation=invitation, mains_volts=115)
    form = {
        "mains_volts": "230",
        "mains_hertz": "50",
        "preset": "handheld",
        "read_cautions": "on",
        "display_name": "Builder 07",
        "password": "a long enough secret",
        "password_again": "a long enough secret",
    }
    answer = client.post(reverse("accounts:invitation", args=[token]), form)
    assert answer.status_code == 422
    assert answer.context["forms"]["bench"].errors.as_data()["mains_volts"][0].code == "no-tap"
    build.refresh_from_db()
    assert build.builder is None
    assert client.post(reverse("accounts:invitation", args=[token]), form | {"mains_volts": "120"}).status_code == 302


def test_the_mains_is_refused_in_a_builds_settings(client, american):
    build = factories.make_build(revision=american, mains_volts=115)
    client.force_login(build.builder, backend=BACKEND)
    form = {"mains_volts": "230", "mains_hertz": "50", "meter": Meter.objects.get(owner=build.builder).pk}
    answer = client.post(reverse("bench:settings", args=[build.pk]), form)
    assert answer.status_code == 422
    assert answer.context["form"].errors.as_data()["mains_volts"][0].code == "no-tap"
    build.refresh_from_db()
    assert build.mains_volts == 115


def test_a_designer_makes_no_build_on_mains_the_transformer_is_not_made_for(client):
    american = make_american(mains_volts=230)
    client.force_login(american.kit.designers.get(), backend=BACKEND)
    answer = client.post(reverse("review:builds", args=[american.kit.key, american.letter]), {"serial": "1"})
    assert answer.status_code == 422 and not Build.objects.exists()
    assert answer.context["form"].errors.as_data()["__all__"][0].code == "no-tap"


def test_a_build_is_not_moved_to_a_revision_its_mains_does_not_suit():
    first = factories.make_revision(stages=1, checks=1, steps=0)
    second = make_american()
    second.kit = first.kit
    old = factories.make_build(revision=first, mains_volts=230)
    assert "230" in obstacle(old, second)
    old.mains_volts = 120
    assert obstacle(old, second) == ""
