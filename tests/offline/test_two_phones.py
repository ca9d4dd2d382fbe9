"""Two phones on one build, or a phone and the paper: for each kind of entry both are kept, and the later one counts,
whichever comes in first."""

from datetime import timedelta
from io import BytesIO
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from builds.bench.gates.gating import find_power
from builds.bench.models import MadeSafe, Photo, PowerOn, Reading, Receipt, Sheet, Snag, Tick
from tests.browser.test_story import cleared_though_frozen  # noqa: F401
from tests.offline.bench import live_bench_of, make_bench

pytestmark = pytest.mark.django_db(transaction=True)
OLDER, NEWER = 600, 60  # s ago


@pytest.fixture
def send(client):
    """Post as a phone's outbox does: an entry made so many seconds ago, sent twice as a bad line makes it."""

    def post(build, name, *args, ago, **data):
        client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
        key = str(uuid4())
        headers = {"Entry-Key": key, "Entry-Age": str(ago), "Outbox": "yes", "HX-Request": "true"}
        for _again in range(2):
            data = {field: value() if callable(value) else value for field, value in data.items()}
            address = reverse(f"bench:{name}", args=[build.pk, *args])
            answer = client.post(address, data | {"entry_key": key}, headers=headers)
            assert answer.status_code < 500
        return answer.get("Entry-Kept") == key

    return post


ORDERS = pytest.mark.parametrize("order", [(OLDER, NEWER), (NEWER, OLDER)], ids=["in order", "older one late"])


@pytest.mark.lengthy
@ORDERS
@pytest.mark.parametrize("name", ["reading", "grid-reading"])
def test_two_readings_of_a_check_both_stay_and_the_later_counts(send, order, name):
    build = make_bench()
    typed = {OLDER: "301", NEWER: "251"}
    assert all(send(build, name, "stage-1", "check-1-1", ago=ago, typed=typed[ago], unit="V") for ago in order)
    assert sorted(Reading.objects.values_list("typed", flat=True)) == ["251", "301"]
    assert build.statuses.get().outcome == "out of band" and not build.statuses.get().passed


@pytest.mark.lengthy
@ORDERS
def test_a_tick_taken_back_later_is_not_set_again_by_an_older_one(send, order):
    build = make_bench()
    step = build.revision.stages.get(key="stage-1").steps.get(key="step-1-1")
    Tick.objects.create(build=build, step=step, at=timezone.now() - timedelta(seconds=2 * OLDER))
    done = {OLDER: "yes", NEWER: "no"}
    assert all(send(build, "tick", "stage-1", "step-1-1", ago=ago, done=done[ago]) for ago in order)
    assert not Tick.objects.exists()
    assert Receipt.objects.count() == 2
    assert send(build, "tick", "stage-1", "step-1-1", ago=0, done="yes")
    assert Tick.objects.count() == 1  # a new wish is no old one


@pytest.mark.lengthy
@ORDERS
def test_a_tick_set_later_is_not_taken_back_by_an_older_wish(send, order):
    build = make_bench()
    done = {OLDER: "no", NEWER: "yes"}
    assert all(send(build, "tick", "stage-1", "step-1-1", ago=ago, done=done[ago]) for ago in order)
    assert Tick.objects.count() == 1


@pytest.mark.lengthy
@ORDERS
def test_snags_and_photos_of_two_phones_both_stay(send, order):
    def picture():
        data = BytesIO()
        Image.new("RGB", (64, 48), "#886644").save(data, "JPEG")
        return SimpleUploadedFile("a.jpg", data.getvalue(), "image/jpeg")

    build = make_bench()
    for ago in order:
        snag = {"kind": "other", "severity": "slowed", "words": f"Seen {ago} s ago", "about": ""}
        assert send(build, "new-snag", "stage-1", ago=ago, **snag)
        assert send(build, "add-stage-photo", "stage-1", ago=ago, photo=picture)
    assert Snag.objects.count() == 2 and Photo.objects.count() == 2


@pytest.mark.lengthy
def test_power_that_one_phone_put_on_after_the_other_made_safe_keeps_hands_out(send):
    build = live_bench_of(timedelta(hours=1))
    assert send(build, "switch-on", "stage-2", ago=NEWER)
    assert send(build, "make-safe", ago=OLDER, typed="2")
    assert MadeSafe.objects.get().is_safe and find_power(build).needs_made_safe


@pytest.mark.lengthy
def test_power_put_on_before_the_other_phone_made_safe_leaves_it_safe(send):
    build = live_bench_of(timedelta(hours=1))
    assert send(build, "make-safe", ago=NEWER, typed="2")
    assert send(build, "switch-on", "stage-2", ago=OLDER)
    assert PowerOn.objects.filter(why="again").count() == 1 and not find_power(build).needs_made_safe


def sheet_of(day, **lines):
    fields = {"day": day.isoformat(), "read": "on"}
    for key, (typed, clock) in lines.items():
        fields |= {f"{key.replace('_', '-')}-typed": typed, f"{key.replace('_', '-')}-at": clock}
    return fields


@pytest.mark.lengthy
def test_a_sheet_and_a_reading_of_a_phone_that_comes_late_both_stay(send):
    build = make_bench()
    yesterday = timezone.localdate() - timedelta(days=1)
    assert send(build, "sheet", "stage-1", ago=0, **sheet_of(yesterday, check_1_1=("301", "10:00")))
    assert send(build, "reading", "stage-1", "check-1-1", ago=4 * 24 * 3600, typed="251", unit="V")
    assert sorted(Reading.objects.values_list("typed", flat=True)) == ["251", "301"]
    assert build.statuses.get().outcome == "in band"  # of the sheet, which was written later


@pytest.mark.lengthy
def test_a_sheet_older_than_what_is_on_record_is_given_back_and_changes_nothing(send):
    build = make_bench()
    assert send(build, "reading", "stage-1", "check-1-1", ago=NEWER, typed="251", unit="V")
    yesterday = timezone.localdate() - timedelta(days=1)
    assert not send(build, "sheet", "stage-1", ago=0, **sheet_of(yesterday, check_1_1=("301", "10:00")))
    assert list(Reading.objects.values_list("typed", flat=True)) == ["251"] and not Sheet.objects.exists()


@pytest.mark.lengthy
def test_an_entry_of_another_person_than_the_one_signed_in_goes_nowhere(client):
    """Somebody signed in in another tab: the phone keeps the entry until its owner is back."""
    build = make_bench()
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    address = reverse("bench:reading", args=[build.pk, "stage-1", "check-1-1"])
    posted = {"typed": "301", "unit": "V", "entry_key": str(uuid4())}
    for person, status in ((build.builder.pk + 1, 401), (build.builder.pk, 204)):
        headers = {"Entry-Key": posted["entry_key"], "Entry-Person": str(person), "Outbox": "yes"}
        assert client.post(address, posted, headers=headers).status_code == status
        assert Reading.objects.count() == (status == 204)
