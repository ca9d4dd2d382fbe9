"""What a phone keeps while its builder chooses another meter, or other mains, elsewhere: it is judged by those it was
read with, and where the phone judged it by anything else, it is not taken but asked for again.

The meters: a hand-held one of ±(0.5 % + 2 digits) and an analogue one of ±3 % of full scale, as their manuals put it
(common practice). 58.9 V on the analogue one's 250 V range may be 66.4 V: not below 60 V DC (IEC 62368-1, ES1).
"""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.bench.gates.gating import find_power
from builds.bench.models import MadeSafe, PastBench, Reading
from builds.bench.offline.judging import make_key, safe_key
from builds.bench.readings.context import build_context
from builds.guides.models import Check
from tests import factories
from tests.offline.bench import live_bench_of, make_bench

pytestmark = [pytest.mark.django_db, pytest.mark.lengthy]
BACKEND = "django.contrib.auth.backends.ModelBackend"
BORDER = "326"  # V; 270 to 330 is the band: by a digital meter in it, by an analogue one too close to call
AT_RISK = "58.9"  # V


@pytest.fixture
def bench(client):
    """A build measured with `old` until five minutes ago, with `new` since."""

    def make(old, new, live=False, **then):
        build = live_bench_of(timedelta(hours=1)) if live else make_bench()
        meters = {each: factories.make_meter(owner=build.builder, preset=each) for each in {old, new}}
        mains = {"mains_volts": build.mains_volts, "mains_hertz": build.mains_hertz} | then
        until = timezone.now() - timedelta(minutes=5)
        PastBench.objects.create(build=build, until=until, meter=meters[old], **mains)
        build.meter = meters[new]
        build.save()
        client.force_login(build.builder, backend=BACKEND)
        return build

    return make


def context_with(build, meter, key="check-1-1", mains=None):
    build.meter = meter
    check = Check.objects.select_related("stage__revision").get(stage__revision=build.revision, key=key)
    return build_context(build, check, mains)


def send(client, build, name, *args, ago, judge="", **data):
    key = str(uuid4())
    headers = {"Entry-Key": key, "Entry-Age": str(ago), "Outbox": "yes", "HX-Request": "true", "Entry-Judge": judge}
    address = reverse(f"bench:{name}", args=[build.pk, *args])
    return client.post(address, data | {"entry_key": key}, headers=headers)


@pytest.mark.parametrize("name", ["reading", "grid-reading"])
@pytest.mark.parametrize(
    ("old", "new", "outcome"),
    [("analogue", "handheld", "too close to call"), ("handheld", "analogue", "in band")],
)
def test_a_reading_made_before_another_meter_was_chosen_is_judged_by_the_one_it_was_read_with(
    client, bench, name, old, new, outcome
):
    build = bench(old, new)
    assert send(client, build, name, "stage-1", "check-1-1", ago=600, typed=BORDER, unit="V").status_code == 204
    assert Reading.objects.get().outcome == outcome
    assert Reading.objects.get().meter_spec["kind"] == ("analogue" if old == "analogue" else "digital")


def test_the_phones_table_of_that_moment_is_the_sites(client, bench):
    build = bench("analogue", "handheld")
    judge = make_key(context_with(build, PastBench.objects.get().meter))
    answer = send(client, build, "reading", "stage-1", "check-1-1", ago=600, judge=judge, typed=BORDER, unit="V")
    assert answer.status_code == 204 and Reading.objects.get().outcome == "too close to call"


@pytest.mark.parametrize("name", ["reading", "grid-reading"])
@pytest.mark.parametrize("ago", [120, 2])
def test_a_reading_that_the_phone_judged_by_the_meter_before_is_asked_for_again(client, bench, name, ago):
    """The phone was out of reach when the other one was chosen: nobody knows which of them was in hand."""
    build = bench("analogue", "handheld")
    judge = make_key(context_with(build, PastBench.objects.get().meter))
    answer = send(client, build, name, "stage-1", "check-1-1", ago=ago, judge=judge, typed="301", unit="V")
    assert answer.status_code == 422 and "Entry-Kept" not in answer
    assert not Reading.objects.exists()


def test_a_stop_is_taken_whatever_it_was_judged_by(client, bench):
    build = bench("analogue", "handheld", live=True)
    answer = send(client, build, "reading", "stage-2", "check-2-1", ago=120, judge="other", typed="455", unit="V")
    assert answer.status_code == 204 and Reading.objects.get().outcome == "switch off"


@pytest.mark.parametrize(("old", "new", "safe"), [("analogue", "handheld", False), ("handheld", "analogue", True)])
def test_a_made_safe_reading_is_judged_by_the_meter_it_was_read_with(client, bench, old, new, safe):
    build = bench(old, new, live=True)
    assert send(client, build, "make-safe", ago=600, typed=AT_RISK).status_code == 204
    assert MadeSafe.objects.get().is_safe is safe and find_power(build).needs_made_safe is not safe


def test_a_kit_is_not_made_safe_by_a_reading_that_another_meter_may_have_shown(client, bench):
    build = bench("analogue", "handheld", live=True)
    then = safe_key(PastBench.objects.get())
    answer = send(client, build, "make-safe", ago=120, judge=then, typed=AT_RISK)
    assert answer.status_code == 422 and not MadeSafe.objects.exists() and find_power(build).needs_made_safe
    assert send(client, build, "make-safe", ago=120, judge=then, typed="200").status_code == 204
    assert not MadeSafe.objects.get().is_safe  # not safe by any meter: that is kept


def test_a_live_reading_from_before_other_mains_were_chosen_passes_nothing(client, bench):
    build = bench("handheld", "handheld", live=True, mains_volts=240)
    assert send(client, build, "reading", "stage-2", "check-2-1", ago=600, typed="301", unit="V").status_code == 204
    assert Reading.objects.get().outcome == "in band" and not build.statuses.get().passed
    assert send(client, build, "reading", "stage-2", "check-2-1", ago=0, typed="301", unit="V").status_code == 204
    assert build.statuses.get().passed


def test_saving_the_settings_notes_what_held_before_and_nothing_where_nothing_changed(client):
    build = make_bench()
    client.force_login(build.builder, backend=BACKEND)
    address, before = reverse("bench:settings", args=[build.pk]), build.meter
    fields = {"mains_volts": build.mains_volts, "mains_hertz": build.mains_hertz, "meter": build.meter_id}
    assert client.post(address, fields).status_code == 302
    assert not PastBench.objects.exists()
    other = factories.make_meter(owner=build.builder, preset="analogue")
    assert client.post(address, fields | {"meter": other.pk}).status_code == 302
    past = PastBench.objects.get()
    assert (past.meter, past.mains_volts) == (before, build.mains_volts)
    build.refresh_from_db()
    assert build.meter == other


def test_a_worksheet_is_judged_by_the_meter_of_its_time(client, bench):
    build, clock = bench("analogue", "handheld"), timezone.localtime(timezone.now() - timedelta(minutes=20))
    fields = {"day": clock.date().isoformat(), "read": "on", "check-1-1-typed": BORDER, "check-1-1-unit": "V"}
    fields["check-1-1-at"] = f"{clock:%H:%M}"
    client.post(reverse("bench:sheet", args=[build.pk, "stage-1"]), fields | {"entry_key": str(uuid4())})
    assert Reading.objects.get().outcome == "too close to call"
