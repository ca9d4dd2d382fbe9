"""A builder at a bench without a signal: everything made is kept, judged, shown and sent, once."""

import pytest
from playwright.sync_api import expect

from builds.bench.models import Reading, Tick
from tests.browser.test_story import cleared_though_frozen  # noqa: F401
from tests.offline.bench import Phone, accessible, make_bench

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def bench(browser, live_server):
    build = make_bench()
    phone = Phone(browser, live_server.url, build.builder)
    phone.open(build)
    phone.ready(build)
    yield build, phone
    assert phone.said == []
    phone.context.close()


def test_a_reading_made_without_a_connection_is_judged_kept_and_sent(bench):
    build, phone = bench
    phone.open(build, "stages/stage-1/checks/check-1-1/")
    phone.cut()
    phone.page.fill("input.reading", "311")
    phone.page.click(".save")
    box = phone.page.locator(".verdict.kept")
    expect(box).to_contain_text("in band")
    expect(box).to_contain_text("Judged on this phone")
    expect(phone.page.locator("#offline-bar")).to_contain_text("Not sent yet: 1")
    assert [(e["kind"], e["typed"], e["code"]) for e in phone.kept()] == [("reading", "311", "i")]
    phone.reload()  # the site does not answer: the copy is shown, and the entry is still there
    expect(phone.page.locator(".verdict.kept")).to_contain_text("in band")
    phone.cut(False)
    phone.sends_all()
    expect(phone.page.locator("#verdict .chip").first).to_contain_text("in band")
    assert [r.typed for r in Reading.objects.all()] == ["311"]


def test_a_tick_made_without_a_connection_is_kept_and_sent(bench):
    build, phone = bench
    phone.open(build, "stages/stage-1/")
    phone.cut()
    phone.page.locator(".tickbox").first.click()
    expect(phone.page.locator(".tickbox").first).to_have_attribute("aria-pressed", "true")
    phone.reload()
    expect(phone.page.locator(".tickbox").first).to_have_attribute("aria-pressed", "true")
    assert not Tick.objects.exists()
    phone.cut(False)
    phone.sends_all()
    assert Tick.objects.count() == 1


def test_the_whole_guide_is_readable_without_a_connection(bench):
    build, phone = bench
    for page in ("map", "parts"):
        phone.until(f"caches.match('/builds/{build.pk}/{page}/').then(Boolean)")
    phone.cut()
    for path, heading in (
        ("", "Test kit"),
        ("stages/stage-1/", "Stage 1"),
        ("stages/stage-2/", "Stage 2"),
        ("stages/stage-2/cautions/", "Stage 2"),
        ("stages/stage-2/checks/check-2-3/", "Check 2.3"),
        ("make-safe/", "Make safe"),
        ("stages/stage-1/snags/new/?about=step:step-1-1", "Report a snag"),
        ("map/", "Schematic and points"),
        ("parts/", "Parts list"),
        ("charts/voltage/", "Test kit"),  # not at hand: the build is, and says so
    ):
        phone.open(build, path)
        expect(phone.page.locator("h1").first).to_contain_text(heading)
        accessible(phone.page)
    expect(phone.page.locator(".notice").first).to_contain_text("needs a connection")
    phone.open(build, "stages/stage-2/checks/check-2-3/")
    assert phone.page.locator(".save:visible").count() == 0  # its cautions are not read yet: to read only


def test_the_list_of_what_is_not_sent_opens_deletes_and_is_empty_at_last(bench):
    build, phone = bench
    phone.open(build, "stages/stage-1/checks/check-1-1/")
    phone.cut()
    phone.page.fill("input.reading", "311")
    phone.page.click(".save")
    expect(phone.page.locator(".verdict.kept")).to_be_visible()
    phone.read(build, "check-1-2", "251")
    expect(phone.page.locator(".verdict.kept")).to_contain_text("Stop here")
    phone.go("/not-sent/")
    expect(phone.page.locator(".entry")).to_have_count(2)
    accessible(phone.page)
    phone.page.once("dialog", lambda dialog: dialog.accept())
    phone.page.locator(".entry").nth(1).locator("button").click()
    expect(phone.page.locator(".entry")).to_have_count(1)
    phone.cut(False)
    phone.sends_all()
    expect(phone.page.locator(".entry")).to_have_count(0)
    assert [r.typed for r in Reading.objects.all()] == ["311"]


def test_the_site_can_be_installed(page, live_server, client):
    page.goto(live_server.url + "/sign-in/")
    manifest = page.evaluate("fetch(document.querySelector('link[rel=manifest]').href).then((answer) => answer.json())")
    assert (manifest["start_url"], manifest["scope"], manifest["display"]) == ("/", "/", "standalone")
    sizes = {(icon["sizes"], icon["purpose"]) for icon in manifest["icons"]}
    assert {("192x192", "any"), ("512x512", "any"), ("512x512", "maskable")} <= sizes  # W3C manifest; common practice
    for icon in manifest["icons"]:
        width = page.evaluate(
            "(source) => new Promise((resolve) => { const image = new Image(); "
            "image.onload = () => resolve(image.width); image.src = source; })",
            icon["src"],
        )
        assert f"{width}x{width}" == icon["sizes"]
    answer = client.get("/worker.js")
    assert answer["Cache-Control"] == "no-cache" and answer["Content-Type"].startswith("text/javascript")
