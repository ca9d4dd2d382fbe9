"""What must not happen at a live chassis without a connection, and what must never be lost."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.contrib.sessions.models import Session
from django.db import OperationalError
from django.urls import reverse
from django.utils import timezone
from PIL import Image
from playwright.sync_api import Error, expect

from builds.bench.gates.gating import find_power
from builds.bench.gates.sittings import switch_on
from builds.bench.models import MadeSafe, Photo, PowerOn, Reading, Snag, Tick
from builds.bench.offline.arrival import MOST, find_arrival
from builds.bench.readings import context
from checks.band import Band
from checks.discharge import Discharge
from checks.verdict import judge_at_line
from tests.browser.test_story import cleared_though_frozen  # noqa: F401
from tests.factories import PASSWORD
from tests.offline.bench import READY, Phone, accessible, make_bench

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def at_the_bench(browser, live_server):
    """Open a build on a phone with everything at hand."""
    phones = []

    def begin(**fields):
        build = make_bench(**fields)
        phone = Phone(browser, live_server.url, build.builder)
        phones.append(phone)
        phone.open(build)
        phone.ready(build)
        return build, phone

    yield begin
    for phone in phones:
        assert phone.said == []
        phone.context.close()


@pytest.fixture
def picture(tmp_path):
    path = tmp_path / "photo.jpg"
    Image.new("RGB", (640, 480), "#886644").save(path)
    return path


def sign_in_again(phone, build):
    phone.page.fill("[name=username]", build.builder.display_name)
    phone.page.fill("[name=password]", PASSWORD)
    phone.page.click("main button")
    phone.page.wait_for_url(lambda url: "/sign-in/" not in url)
    phone.until(READY)


@pytest.mark.lengthy
def test_a_stop_without_a_connection_takes_the_page_over_and_stays(at_the_bench):
    build, phone = at_the_bench(live=True)
    phone.open(build, "stages/stage-2/checks/check-2-1/")
    phone.cut()
    phone.page.fill("input.reading", "455")
    phone.page.click(".save")
    expect(phone.page.locator(".stop-word")).to_contain_text("Switch off now")
    expect(phone.page.locator(".stop-why")).to_contain_text("455")
    accessible(phone.page)
    for path in ("stages/stage-2/checks/check-2-2/", "stages/stage-2/", ""):
        phone.open(build, path)  # a reload, another page: the stop comes first
        expect(phone.page.locator(".stop-word")).to_be_visible()
    phone.page.fill(".stop-page input.reading", "75")
    phone.page.click(".stop-page form button.big")
    expect(phone.page.locator(".verdict.kept")).to_contain_text("Not safe")
    phone.page.click(".verdict.kept .button.quiet")
    phone.page.fill(".stop-page input.reading", "2.4")
    phone.page.click(".stop-page form button.big")
    expect(phone.page.locator(".verdict.kept")).to_contain_text("Safe to touch")
    phone.open(build, "stages/stage-2/checks/check-2-2/")
    expect(phone.page.locator(".lock")).to_contain_text("Keep it unplugged")  # no live reading while a stop stands
    assert phone.page.locator(".save:visible").count() == 0
    accessible(phone.page)
    assert not Reading.objects.exists()
    phone.cut(False)
    phone.sends_all()
    assert [(r.typed, r.outcome) for r in Reading.objects.all()] == [("455", "switch off")]
    assert list(MadeSafe.objects.order_by("at").values_list("typed", "is_safe")) == [("75", False), ("2.4", True)]
    reading, safe = Reading.objects.get(), MadeSafe.objects.order_by("at").last()
    assert reading.at < safe.at  # dated in the order in which they were made


@pytest.mark.lengthy
def test_hands_stay_out_while_a_live_reading_is_not_sent_yet(at_the_bench):
    build, phone = at_the_bench(live=True, checks=1)
    phone.open(build, "stages/stage-2/checks/check-2-1/")
    phone.cut()
    phone.page.fill("input.reading", "305")
    phone.page.click(".save")
    expect(phone.page.locator(".verdict.kept")).to_contain_text("in band")
    phone.open(build, "stages/stage-2/")
    step = phone.page.locator("#step-step-2-2")
    expect(step.locator(".lock")).to_contain_text("make safe first")
    assert step.locator(".tickbox:visible").count() == 0
    phone.open(build, "make-safe/")
    phone.page.fill("input.reading", "3")
    phone.page.click("main form button.big")
    expect(phone.page.locator(".verdict.kept")).to_contain_text("Safe to touch")
    phone.open(build, "stages/stage-2/")
    phone.page.locator("#step-step-2-2 .tickbox").click()
    phone.cut(False)
    phone.sends_all()
    assert (Reading.objects.count(), MadeSafe.objects.count(), Tick.objects.count()) == (1, 1, 1)


def make_safe_on_the_phone(phone, build, typed="3"):
    phone.open(build, "make-safe/")
    phone.page.fill("input.reading", typed)
    phone.page.click("main form button.big")
    expect(phone.page.locator(".verdict.kept")).to_contain_text("Safe to touch")


@pytest.mark.lengthy
def test_switching_on_again_without_a_connection_shuts_hands_out_again(at_the_bench):
    build, phone = at_the_bench(live=True)
    phone.cut()
    make_safe_on_the_phone(phone, build)
    phone.open(build, "stages/stage-2/checks/check-2-1/")
    assert phone.page.locator(".save:visible").count() == 0
    accessible(phone.page)
    phone.page.click(".switch-on button")
    phone.page.locator(".save:visible").wait_for()
    phone.open(build, "stages/stage-2/")
    expect(phone.page.locator("#step-step-2-2 .lock")).to_contain_text("make safe first")
    phone.read(build, "check-2-1", "305")
    expect(phone.page.locator(".verdict.kept")).to_contain_text("in band")
    phone.cut(False)
    phone.sends_all()
    again, safe, reading = PowerOn.objects.get(why="again"), MadeSafe.objects.get(), Reading.objects.get()
    assert safe.at < again.at < reading.at and find_power(build).needs_made_safe


@pytest.mark.lengthy
@pytest.mark.parametrize("typed", ["344", "455"])
def test_a_phone_alone_never_switches_on_after_a_live_reading_that_is_off(typed, at_the_bench):
    build, phone = at_the_bench(live=True)
    phone.open(build, "stages/stage-2/checks/check-2-1/")
    phone.cut()
    phone.page.fill("input.reading", typed)
    phone.page.click(".save")
    expect(phone.page.locator(".verdict.kept, .stop-word").first).to_be_visible()
    make_safe_on_the_phone(phone, build)
    phone.open(build, "stages/stage-2/checks/check-2-2/")
    expect(phone.page.locator(".lock")).to_contain_text("Keep it")
    assert phone.page.locator(".switch-on, .save:visible").count() == 0


@pytest.mark.lengthy
def test_a_reading_the_phone_cannot_judge_never_passes(at_the_bench):
    build, phone = at_the_bench()
    phone.open(build, "stages/stage-1/checks/check-1-1/")
    phone.page.evaluate("document.querySelector('form[data-judge]').dataset.judge = 'of another meter'")
    phone.cut()
    phone.page.fill("input.reading", "311")
    phone.page.click(".save")
    box = phone.page.locator(".verdict.kept")
    expect(box).to_contain_text("Do not continue until it has been sent and judged")
    assert box.locator("text=in band").count() == 0 and box.locator("a.button").count() == 0


@pytest.mark.lengthy
def test_what_the_site_would_ask_about_the_phone_asks_about(at_the_bench):
    build, phone = at_the_bench()
    phone.open(build, "stages/stage-1/checks/check-1-1/")
    phone.cut()
    phone.page.fill("input.reading", "3..11")
    phone.page.click(".save")
    expect(phone.page.locator(".not-sent")).to_contain_text("cannot be read")
    assert phone.page.locator("input.reading").input_value() == "3..11"
    assert phone.kept() == []


@pytest.mark.lengthy
def test_a_snag_with_a_photo_is_kept_through_a_closed_tab(at_the_bench, picture):
    build, phone = at_the_bench()
    phone.open(build, "stages/stage-1/snags/new/?about=check:check-1-1&kind=reading")
    phone.cut()
    phone.page.check("[name=severity][value=slowed]")
    phone.page.fill("[name=words]", "The tag is bent.")
    phone.page.set_input_files("[name=photo]", picture)
    phone.page.click("main form button.big")
    expect(phone.page.locator(".kept")).to_contain_text("saved on this phone")
    phone.page.close()
    phone.page = phone.context.new_page()
    phone.cut(False)
    phone.open(build)
    phone.sends_all()
    snag = Snag.objects.get()
    assert (snag.words, snag.kind, snag.check_row.key, snag.photos.count()) == (
        "The tag is bent.", "reading", "check-1-1", 1,
    )  # fmt: skip


@pytest.mark.lengthy
def test_a_photo_of_a_stage_is_kept_and_sent_once(at_the_bench, picture):
    build, phone = at_the_bench()
    phone.open(build, "stages/stage-1/")
    phone.page.click("#photos summary")
    phone.cut()
    phone.page.set_input_files("#photos input[type=file]", picture)
    phone.page.click("#photos form button")
    expect(phone.page.locator("#photos .kept")).to_contain_text("saved on this phone")
    phone.cut(False)
    phone.sends_all()
    assert Photo.objects.count() == 1


@pytest.mark.lengthy
def test_an_ended_session_loses_nothing(at_the_bench):
    build, phone = at_the_bench()
    phone.open(build, "stages/stage-1/checks/check-1-1/")
    Session.objects.all().delete()
    phone.page.fill("input.reading", "311")
    phone.page.click(".save")
    expect(phone.page.locator(".verdict.kept")).to_contain_text("You are signed out")
    accessible(phone.page)
    phone.page.click("#offline-bar >> text=Sign in to send")
    sign_in_again(phone, build)
    phone.sends_all()
    assert [r.typed for r in Reading.objects.all()] == ["311"]


@pytest.mark.lengthy
def test_what_was_typed_and_not_saved_comes_back_after_signing_in(at_the_bench):
    build, phone = at_the_bench()
    phone.open(build, "stages/stage-1/checks/check-1-1/")
    phone.page.fill("input.reading", "31")
    phone.page.locator("input.reading").press_sequentially("1.5")
    Session.objects.all().delete()
    phone.page.reload()
    sign_in_again(phone, build)
    expect(phone.page.locator("input.reading")).to_have_value("311.5")
    expect(phone.page.locator(".draft-note")).to_be_visible()


@pytest.mark.lengthy
def test_an_old_token_is_replaced_by_a_fresh_one(at_the_bench):
    build, phone = at_the_bench()
    phone.open(build, "stages/stage-1/checks/check-1-1/")
    phone.context.clear_cookies(name="csrftoken")
    phone.page.fill("input.reading", "311")
    phone.page.click(".save")
    expect(phone.page.locator("#verdict .chip").first).to_contain_text("in band")
    phone.sends_all()  # the verdict stands on the page a moment before the phone lets go of its copy
    assert Reading.objects.count() == 1


@pytest.mark.lengthy
def test_a_site_that_cannot_save_is_said_and_the_entry_kept(at_the_bench, monkeypatch):
    build, phone = at_the_bench()
    phone.open(build, "stages/stage-1/checks/check-1-1/")
    with monkeypatch.context() as broken:

        def full(*args, **kwargs):
            raise OperationalError("database or disk is full")

        broken.setattr("builds.bench.readings.taking._store", full)
        phone.page.fill("input.reading", "311")
        phone.page.click(".save")
        expect(phone.page.locator(".verdict.kept")).to_contain_text("cannot save at the moment")
        assert not Reading.objects.exists() and len(phone.kept()) == 1
    phone.open(build)
    phone.sends_all()
    assert Reading.objects.count() == 1


@pytest.mark.lengthy
def test_a_phone_without_room_says_so_and_leaves_the_field(at_the_bench):
    build, phone = at_the_bench()
    phone.open(build, "stages/stage-1/checks/check-1-1/")
    phone.page.evaluate(
        "() => { IDBObjectStore.prototype.add = () => { throw new DOMException('full', 'QuotaExceededError'); }; }"
    )
    phone.cut()
    phone.page.fill("input.reading", "311")
    phone.page.click(".save")
    expect(phone.page.locator(".not-sent")).to_contain_text("no space left")
    assert phone.page.locator("input.reading").input_value() == "311"
    phone.cut(False)
    phone.page.click(".save")
    expect(phone.page.locator("#verdict .chip").first).to_contain_text("in band")
    assert Reading.objects.count() == 1


@pytest.mark.lengthy
def test_ending_the_session_with_something_typed_asks_first(at_the_bench):
    build, phone = at_the_bench()
    phone.open(build, "stages/stage-1/checks/check-1-1/")
    phone.page.fill("input.reading", "311")
    phone.open(build)
    asked = []
    phone.page.once("dialog", lambda dialog: (asked.append(dialog.message), dialog.dismiss()))
    with phone.page.expect_event("dialog"):
        phone.page.click("form[data-asks=end] button")
    assert "311" in asked[0]
    phone.page.wait_for_timeout(300)
    assert build.sittings.filter(ended_at=None).exists()


@pytest.mark.lengthy
def test_another_person_on_the_same_phone_sees_nothing_of_the_first(at_the_bench):
    build, phone = at_the_bench()
    phone.open(build, "stages/stage-1/checks/check-1-1/")
    phone.cut()
    phone.page.fill("input.reading", "311")
    phone.page.click(".save")
    expect(phone.page.locator(".verdict.kept")).to_be_visible()
    Session.objects.all().delete()
    phone.cut(False)
    phone.go("/sign-in/")
    other = make_bench()
    sign_in_again(phone, other)
    phone.open(other)
    phone.go("/not-sent/")
    expect(phone.page.locator("#not-sent-list")).to_contain_text("somebody else")
    assert "311" not in phone.page.inner_text("main")
    phone.page.wait_for_timeout(500)
    assert not Reading.objects.exists()
    phone.cut()
    phone.page.goto(f"{phone.base}/builds/{build.pk}/stages/stage-1/")
    expect(phone.page.locator("h1")).to_have_text("Not sent yet")  # no copy of the first one's build


@pytest.mark.lengthy
def test_a_wait_goes_on_while_the_page_is_left_and_begins_anew_after_power(at_the_bench, monkeypatch):
    slow = Discharge(400.0, ("R1",), ("C1",), 3.0)
    monkeypatch.setattr("builds.bench.views.safe.compute_discharge", lambda revision, volts: slow)
    build, phone = at_the_bench(live=True)
    phone.open(build, "make-safe/")
    phone.page.click("[data-countdown-start]")
    expect(phone.page.locator(".countdown output")).to_contain_text("s to wait")
    phone.open(build)
    phone.open(build, "make-safe/")
    expect(phone.page.locator(".countdown output")).to_contain_text("s to wait")
    switch_on(build, None, "again", by=build.builder, entry_key=uuid4())
    phone.open(build, "make-safe/")
    expect(phone.page.locator("[data-countdown-start]")).to_be_visible()
    assert phone.page.locator(".countdown output").inner_text() == ""


@pytest.mark.lengthy
@pytest.mark.parametrize("path", ["make-safe/", "stop/"])
def test_the_wait_before_hands_go_in_counts_down_without_a_connection(at_the_bench, monkeypatch, path):
    slow = Discharge(400.0, ("R1",), ("C1",), 3.0)
    monkeypatch.setattr("builds.bench.offline.copies.compute_discharge", lambda revision, volts: slow)
    build, phone = at_the_bench(live=True)
    phone.cut()
    phone.open(build, path)
    phone.page.click("[data-countdown-start]")
    expect(phone.page.locator(".countdown output")).to_contain_text("s to wait")
    phone.open(build, path)
    expect(phone.page.locator(".countdown output")).to_contain_text("s to wait")


@pytest.mark.lengthy
def test_a_late_reading_never_takes_the_place_of_a_newer_one(client):
    """Two phones on one build: both attempts stay, and the one that was made last counts."""
    build = make_bench()
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    address = reverse("bench:reading", args=[build.pk, "stage-1", "check-1-1"])
    for typed, age in (("251", 0), ("301", 600)):
        key = str(uuid4())
        headers = {"Entry-Key": key, "Entry-Age": str(age), "Outbox": "yes", "HX-Request": "true"}
        answer = client.post(address, {"typed": typed, "unit": "V", "entry_key": key}, headers=headers)
        assert (answer.status_code, answer["Entry-Kept"]) == (204, key)
    status = build.statuses.get()
    assert (status.outcome, status.passed, status.attempts) == ("out of band", False, 2)
    assert status.latest.typed.startswith("251")
    page = client.get(reverse("bench:check", args=[build.pk, "stage-1", "check-1-1"]))
    assert page.context["last"] == status.latest


def test_a_stop_that_comes_late_stands_all_the_same(client):
    build = make_bench()
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    address = reverse("bench:reading", args=[build.pk, "stage-1", "check-1-1"])
    for typed, age in (("301", 0), ("455", 600)):
        key = str(uuid4())
        headers = {"Entry-Key": key, "Entry-Age": str(age), "Outbox": "yes", "HX-Request": "true"}
        client.post(address, {"typed": typed, "unit": "V", "entry_key": key}, headers=headers)
    assert build.statuses.get().outcome == "switch off"


def test_made_safe_before_the_power_that_another_phone_put_on_opens_nothing(client):
    build = make_bench(live=True)
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    key = str(uuid4())
    headers = {"Entry-Key": key, "Entry-Age": "600", "Outbox": "yes", "HX-Request": "true"}
    data = {"typed": "2", "entry_key": key}
    client.post(reverse("bench:make-safe", args=[build.pk]), data, headers=headers)
    assert MadeSafe.objects.get().is_safe
    assert find_power(build).needs_made_safe


@pytest.mark.parametrize("age", ["-5", "nan", "inf", "1e99", "x", ""])
def test_no_age_dates_an_entry_in_the_future_or_beyond_the_most(rf, age):
    arrival = find_arrival(rf.post("/", headers={"Entry-Age": age, "Entry-Floor": "9e15", "Entry-Key": "no key"}))
    assert timezone.now() - MOST - timedelta(minutes=1) < arrival.at <= timezone.now()
    assert arrival.key is None


@pytest.mark.lengthy
def test_a_live_reading_that_is_out_leads_to_making_safe_and_asks_for_no_other(at_the_bench):
    """The phone cannot tell an overload from a slip: a supply pulled down is not measured again with the power on."""
    build, phone = at_the_bench(live=True)
    phone.open(build, "stages/stage-2/checks/check-2-1/")
    phone.cut()
    phone.page.fill("input.reading", "210")
    phone.page.click(".save")
    verdict = phone.page.locator(".verdict.kept")
    expect(verdict.locator(f'a[href="/builds/{build.pk}/make-safe/"]')).to_be_focused()
    expect(verdict).not_to_contain_text("Measure again")
    phone.open(build, "stages/stage-2/checks/check-2-2/")
    expect(phone.page.locator(".lock")).to_contain_text("Switch off. Unplug.")
    assert phone.page.locator(".save:visible").count() == 0
    phone.open(build, "stages/stage-2/")
    expect(phone.page.locator("#next a")).to_have_attribute("href", f"/builds/{build.pk}/make-safe/")
    phone.open(build, "stages/stage-2/checks/check-2-1/")
    verdict.locator("button").click()
    phone.page.fill("input.reading", "301")  # a slip of the fingers is put right here
    phone.page.click(".save:visible")
    expect(verdict).to_contain_text("in band")
    phone.open(build, "stages/stage-2/checks/check-2-2/")
    phone.page.locator(".save:visible").wait_for()


@pytest.mark.lengthy
def test_what_the_phone_called_right_and_the_site_stops_takes_over_whichever_page_is_open(at_the_bench, monkeypatch):
    """As after a valve of a type with a lower rating was noted on another device meanwhile."""
    build, phone = at_the_bench(live=True, checks=1)
    phone.open(build, "stages/stage-2/checks/check-2-1/")
    phone.cut()
    phone.page.fill("input.reading", "305")
    phone.page.click(".save")
    expect(phone.page.locator(".verdict.kept")).to_contain_text("in band")
    lower = Band(None, 300.0, stop_above=302.0)
    monkeypatch.setattr(
        context, "judge_at_line", lambda measured, _band, **more: judge_at_line(measured, lower, **more)
    )
    phone.cut(False)
    try:
        phone.page.goto(phone.base + reverse("bench:builds"))
    except Error as error:  # the page that was open has been taken over already
        if "ERR_ABORTED" not in str(error):
            raise
    phone.page.wait_for_url(f"**/builds/{build.pk}/stop/")
    expect(phone.page.locator(".stop-word")).to_contain_text("Switch off now")
    assert Reading.objects.get().outcome == "switch off"
