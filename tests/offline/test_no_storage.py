"""A browser that keeps nothing for the site: a private window, storage turned off, an iPhone whose database hangs.

What such browsers throw is written in the Web Storage, Indexed Database and Storage Access standards: a SecurityError
from the getters and from open(), InvalidStateError from a connection that was closed. That an opening may never
answer is common practice among iPhone users' reports.
"""

import pytest
from PIL import Image
from playwright.sync_api import expect

from builds.bench.models import MadeSafe, Photo, Reading, Snag, Tick
from tests.browser.test_story import cleared_though_frozen  # noqa: F401
from tests.offline.bench import Phone, make_bench

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
DENIED = """
  const refuse = () => { throw new DOMException("denied", "SecurityError"); };
  for (const name of ["localStorage", "sessionStorage"]) { Object.defineProperty(window, name, { get: refuse }); }
  IDBFactory.prototype.open = refuse;
  CacheStorage.prototype.open = CacheStorage.prototype.keys = async () => refuse();
  LockManager.prototype.request = async () => refuse();
  StorageManager.prototype.persist = async () => refuse();
  ServiceWorkerContainer.prototype.register = async () => refuse();
"""
SILENT = """
  IDBFactory.prototype.open = () => ({});
  const later = window.setTimeout;
  window.setTimeout = (act, ms, ...more) => later(act, ms === 8000 ? 50 : ms, ...more);
"""
SHUT = """
  const begin = IDBDatabase.prototype.transaction;
  let times = 0;
  IDBDatabase.prototype.transaction = function (...asked) {
    times += 1;
    if (times % 3 === 0) { throw new DOMException("the connection is closing", "InvalidStateError"); }
    return begin.apply(this, asked);
  };
"""


@pytest.fixture
def denied_bench(browser, live_server):
    phones = []

    def begin(script, **fields):
        build = make_bench(**fields)
        phone = Phone(browser, live_server.url, build.builder, script=script)
        phones.append(phone)
        phone.open(build)
        return build, phone

    yield begin
    for phone in phones:
        assert phone.said == []
        phone.context.close()


def notebook_came(phone, build):
    phone.until(f"import('/static/offline/store.js').then((s) => s.fact('notebook:{build.pk}')).then(Boolean)")


def read_online(phone, build, key, typed):
    phone.read(build, key, typed)
    phone.page.locator("#verdict .chip").first.wait_for()


@pytest.mark.lengthy
@pytest.mark.parametrize("script", [DENIED, SILENT], ids=["denied", "silent"])
def test_a_build_is_worked_on_where_the_browser_keeps_nothing(script, denied_bench, tmp_path):
    build, phone = denied_bench(script, live=True)
    page = phone.page
    phone.open(build, "make-safe/")
    page.fill("input.reading", "2.1")
    with page.expect_navigation():
        page.click("main form button.big")
    read_online(phone, build, "check-1-1", "311")
    phone.open(build, "stages/stage-1/")
    page.locator(".tickbox").first.click()
    expect(page.locator(".tickbox").first).to_have_attribute("aria-pressed", "true")
    phone.open(build, "stages/stage-1/snags/new/")
    page.check("[name=kind][value=other]")
    page.check("[name=severity][value=slowed]")
    page.fill("[name=words]", "The tag is bent.")
    picture = tmp_path / "photo.jpg"
    Image.new("RGB", (64, 48), "#886644").save(picture)
    page.set_input_files("[name=photo]", picture)
    with page.expect_navigation():
        page.click("main form button.big")
    phone.open(build)
    page.click("form[data-asks=end] button")  # nothing typed waits: nothing is asked
    page.locator("main > .notice.success").wait_for()
    assert [r.typed for r in Reading.objects.all()] == ["311"]
    assert (Tick.objects.count(), Snag.objects.count(), Photo.objects.count(), MadeSafe.objects.count()) == (1, 1, 1, 1)


@pytest.mark.lengthy
def test_a_reading_that_can_be_neither_sent_nor_kept_stays_in_its_field(denied_bench):
    build, phone = denied_bench(DENIED)
    page = phone.page
    phone.open(build, "stages/stage-1/checks/check-1-1/")
    phone.cut()
    page.fill("input.reading", "311")
    page.click(".save")
    expect(page.locator(".not-sent")).to_contain_text("Not sent")
    assert page.locator("input.reading").input_value() == "311" and not page.locator(".verdict:visible").count()
    phone.cut(False)
    page.click(".save")
    page.locator("#verdict .chip").first.wait_for()
    assert [r.typed for r in Reading.objects.all()] == ["311"]


FULL = "() => { IDBObjectStore.prototype.add = () => { throw new DOMException('full', 'QuotaExceededError'); }; }"


NOTES_FULL = "() => { IDBObjectStore.prototype.put = () => { throw new DOMException('full', 'QuotaExceededError'); }; }"


@pytest.mark.lengthy
def test_a_phone_without_room_to_note_what_was_sent_sends_on(denied_bench):
    build, phone = denied_bench("")
    phone.ready(build)
    for n, typed in enumerate(("311", "305"), start=1):
        phone.open(build, f"stages/stage-1/checks/check-1-{n}/")
        phone.cut()
        phone.page.fill("input.reading", typed)
        phone.page.click(".save")
        expect(phone.page.locator(".verdict.kept")).to_be_visible()
    phone.page.evaluate(NOTES_FULL)
    phone.cut(False)
    phone.page.evaluate("dispatchEvent(new Event('entries-changed'))")
    phone.sends_all()
    assert [r.typed for r in Reading.objects.order_by("pk")] == ["311", "305"]


@pytest.mark.lengthy
@pytest.mark.parametrize("script", [DENIED, ""], ids=["denied", "full"])
def test_a_stop_that_can_be_neither_sent_nor_kept_takes_the_page_over(script, denied_bench):
    build, phone = denied_bench(script, live=True)
    page = phone.page
    phone.open(build, "stages/stage-2/checks/check-2-1/")
    notebook_came(phone, build)
    page.evaluate(FULL)
    phone.cut()
    page.fill("input.reading", "455")
    page.click(".save")
    expect(page.locator(".stop-word")).to_contain_text("Switch off now")
    expect(page.locator("main")).to_contain_text("Write it down")


@pytest.mark.lengthy
def test_a_stop_is_shown_where_the_line_failed_while_the_words_of_the_scripts_came(denied_bench):
    build, phone = denied_bench(DENIED, live=True)
    phone.context.route("**/offline-words/", lambda route: route.abort())
    phone.open(build, "stages/stage-2/checks/check-2-1/")
    notebook_came(phone, build)
    phone.cut()
    phone.page.fill("input.reading", "455")
    phone.page.click(".save")
    expect(phone.page.locator(".stop-word")).to_contain_text("Switch off now")
    expect(phone.page.locator(".stop-why")).to_contain_text("455")


@pytest.mark.lengthy
def test_a_database_that_the_phone_shut_is_opened_again(denied_bench):
    build, phone = denied_bench(SHUT)
    phone.ready(build)
    phone.open(build, "stages/stage-1/checks/check-1-1/")
    phone.cut()
    phone.page.fill("input.reading", "311")
    phone.page.click(".save")
    expect(phone.page.locator(".verdict.kept")).to_contain_text("in band")
    phone.cut(False)
    phone.sends_all()
    assert [r.typed for r in Reading.objects.all()] == ["311"]


# Over plain http a browser has none of these (Secure Contexts, W3C): a site of a workshop's own network.
PLAIN_HTTP = """
  for (const name of ["serviceWorker", "locks", "storage"]) {
    Object.defineProperty(Navigator.prototype, name, { get: () => undefined });
  }
  Object.defineProperty(window, "caches", { get: () => undefined });
  delete Crypto.prototype.randomUUID;
"""


@pytest.mark.lengthy
def test_over_plain_http_an_open_page_judges_and_keeps_a_reading_until_the_line_is_back(denied_bench):
    build, phone = denied_bench(PLAIN_HTTP)
    notebook_came(phone, build)
    phone.open(build, "stages/stage-1/checks/check-1-1/")
    phone.cut()
    phone.page.fill("input.reading", "301.5")
    phone.page.click(".save")
    expect(phone.page.locator(".verdict.kept")).to_contain_text("in band")
    assert not Reading.objects.exists()
    phone.cut(False)
    phone.page.evaluate("dispatchEvent(new Event('online'))")
    phone.sends_all()
    assert [(r.typed, r.outcome) for r in Reading.objects.all()] == [("301.5", "in band")]
