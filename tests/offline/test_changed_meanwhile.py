"""What changes at the other end while a phone has no connection: nothing is lost, doubled or passed by figures that are
out of date, and the page says what to do."""

import pytest
from playwright.sync_api import expect

from builds.bench.models import MoveOffer, Photo, Reading
from builds.bench.moves.moving import move
from builds.bench.offline import site
from builds.bench.readings.bench_then import choose_bench
from tests import factories
from tests.browser.test_story import PATIENCE, cleared_though_frozen  # noqa: F401
from tests.browser.test_traps import issue
from tests.offline.test_corrections import publish
from tests.offline.test_dangers import at_the_bench, picture, sign_in_again  # noqa: F401

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True), pytest.mark.lengthy]
FIRST = "stages/stage-1/checks/check-1-1/"


def type_offline(phone, build, typed, path=FIRST):
    phone.open(build, path)
    phone.cut()
    phone.page.fill("input.reading", typed)
    phone.page.click(".save")
    expect(phone.page.locator(".verdict.kept")).to_be_visible()


def test_a_correction_issued_meanwhile_is_read_first_and_the_bar_leads_there(at_the_bench):  # noqa: F811
    build, phone = at_the_bench()
    bar = phone.page.locator("#offline-bar")
    type_offline(phone, build, "301")
    publish(build, "check-1-1")
    phone.cut(False)
    expect(bar).to_contain_text("complete another page first")
    assert [e["typed"] for e in phone.kept()] == ["301"] and not Reading.objects.exists()
    bar.get_by_text("Open").click()
    expect(phone.page.locator("main")).to_contain_text("Read it at pin 3 instead.")
    phone.page.click("main form button")
    phone.page.wait_for_url("**/stages/stage-1/")
    phone.sends_all()
    assert Reading.objects.get().outcome == "in band" and not build.statuses.get().passed


def test_a_reading_judged_by_a_meter_that_was_changed_elsewhere_is_asked_for_and_no_longer_called_right(
    at_the_bench,  # noqa: F811
):
    build, phone = at_the_bench()
    phone.open(build, FIRST)
    phone.cut()  # first: a page that has just opened may still be fetching by which meter to judge
    other = factories.make_meter(owner=build.builder, preset="analogue")
    choose_bench(build, {"meter": other})  # at another machine, while this phone is on the bench
    phone.page.fill("input.reading", "301")
    phone.page.click(".save")
    expect(phone.page.locator(".verdict.kept")).to_contain_text("in band")
    phone.cut(False)
    expect(phone.page.locator("#offline-bar")).to_contain_text("needs your attention")
    assert [(e["typed"], e["state"], e["code"]) for e in phone.kept()] == [("301", "asks", "?")]
    assert not Reading.objects.exists()
    phone.reload()
    verdict = phone.page.locator(".verdict.kept")
    expect(verdict).to_contain_text("The site did not accept this")
    expect(verdict).not_to_contain_text("in band")


def test_what_was_kept_for_a_build_that_moved_meanwhile_stays_and_leads_to_the_new_one(at_the_bench):  # noqa: F811
    build, phone = at_the_bench()
    type_offline(phone, build, "301")
    revision = issue(factories.make_revision(kit=build.revision.kit, letter="B", gate=False, issued=False))
    offer = MoveOffer.objects.create(build=build, revision=revision, by=build.revision.kit.designers.get())
    new = move(offer)
    phone.cut(False)
    expect(phone.page.locator("#offline-bar")).to_contain_text("needs your attention")
    assert [e["typed"] for e in phone.kept()] == ["301"]
    assert not Reading.objects.exists() and not new.statuses.exists()
    phone.go("/not-sent/")
    expect(phone.page.locator("#not-sent-list")).to_contain_text("301")
    phone.page.locator("#not-sent-list a", has_text="Open").click()
    phone.page.wait_for_url(f"**/builds/{new.pk}/")


def test_cookies_deleted_while_an_entry_waits_ask_for_signing_in_and_lose_nothing(at_the_bench):  # noqa: F811
    build, phone = at_the_bench()
    type_offline(phone, build, "301")
    phone.context.clear_cookies()
    phone.cut(False)
    expect(phone.page.locator("#offline-bar")).to_contain_text("Sign in to send")
    phone.page.click("#offline-bar a:has-text('Sign in')")
    sign_in_again(phone, build)
    phone.sends_all()
    assert [r.typed for r in Reading.objects.all()] == ["301"]


def test_a_new_worker_while_an_entry_waits_takes_nothing_away(at_the_bench, monkeypatch):  # noqa: F811
    build, phone = at_the_bench()
    type_offline(phone, build, "301")
    monkeypatch.setattr(site, "_version", lambda: "another")
    phone.context.route("**/readings/", lambda route: route.abort())
    phone.cut(False)
    phone.page.evaluate("navigator.serviceWorker.getRegistration().then((r) => r.update()).then(() => null)")
    phone.until("caches.keys().then((all) => all.filter((name) => name.startsWith('site-')).join() === 'site-another')")
    assert [e["typed"] for e in phone.kept()] == ["301"]
    phone.cut()
    phone.reload()
    expect(phone.page.locator(".verdict.kept")).to_contain_text("in band")
    phone.context.unroute("**/readings/")
    phone.cut(False)
    phone.sends_all()
    assert [r.typed for r in Reading.objects.all()] == ["301"]


@pytest.fixture
def two_tabs(at_the_bench):  # noqa: F811
    def begin(path, **fields):
        build, phone = at_the_bench(**fields)
        phone.open(build, path)
        second = phone.context.new_page()
        second.set_default_timeout(PATIENCE)
        second.goto(f"{phone.base}/builds/{build.pk}/{path}")
        expect(second.locator("html[data-outbox=ready]")).to_be_attached()
        return build, phone, second

    return begin


def test_a_stop_in_one_tab_takes_over_the_other(two_tabs):
    build, phone, second = two_tabs("stages/stage-2/checks/check-2-1/", live=True)
    phone.cut()
    second.fill("input.reading", "301")  # even while something is typed there
    phone.page.fill("input.reading", "455")
    phone.page.click(".save")
    expect(phone.page.locator(".stop-word")).to_be_visible()
    expect(second.locator(".stop-word")).to_be_visible()
    phone.cut(False)
    phone.sends_all()
    assert [r.outcome for r in Reading.objects.all()] == ["switch off"]


def test_each_of_two_tabs_shows_what_the_other_kept(two_tabs):
    build, phone, second = two_tabs(FIRST)
    phone.cut()
    phone.page.fill("input.reading", "301")
    phone.page.click(".save")
    expect(phone.page.locator(".verdict.kept")).to_contain_text("in band")
    expect(second.locator(".verdict.kept")).to_contain_text("301")
    second.click(".verdict.kept .button.quiet")
    second.fill("input.reading", "251")
    second.click(".save")
    expect(second.locator(".verdict.kept")).to_contain_text("251")
    expect(phone.page.locator(".verdict.kept")).to_contain_text("251")
    phone.cut(False)
    phone.sends_all()
    assert [r.typed for r in Reading.objects.order_by("pk")] == ["301", "251"]


def test_a_photo_on_a_slow_line_holds_up_no_verdict_and_is_sent_after_it(at_the_bench, picture):  # noqa: F811
    build, phone = at_the_bench()
    phone.open(build, "stages/stage-1/")
    phone.cut()
    phone.page.set_input_files("form[data-outbox=photo] input[type=file]", picture)
    phone.page.locator("form[data-outbox=photo]").first.evaluate("form => form.requestSubmit()")
    expect(phone.page.locator(".notice.kept")).to_be_attached()
    phone.context.route("**/photo/", lambda route: None)  # neither sent nor failed
    phone.cut(False)
    with phone.page.expect_request("**/photo/"):
        phone.page.goto(f"{phone.base}/builds/{build.pk}/{FIRST}")
    phone.page.fill("input.reading", "301")
    phone.page.click(".save")
    expect(phone.page.locator("#verdict .chip").first).to_contain_text("in band")
    assert [r.typed for r in Reading.objects.all()] == ["301"] and not Photo.objects.exists()
    phone.context.unroute("**/photo/")
    phone.page.evaluate("dispatchEvent(new Event('entries-changed'))")
    phone.sends_all()
    assert Photo.objects.count() == 1
