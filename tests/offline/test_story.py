"""A builder at a bench without a signal: everything made is kept, judged, shown and sent, once."""

from urllib.parse import urlparse

import pytest
from playwright.sync_api import expect

from builds.bench.models import Build, Reading, Tick
from tests.browser.test_story import cleared_though_frozen  # noqa: F401
from tests.offline.bench import Phone, accessible, make_bench
from tests.offline.line import bad_line

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def bench(browser, live_server):
    build = make_bench(parts=({"ref": "R1", "kind": "resistor", "value": "10k", "tolerance": "5%", "detail": {}},))
    phone = Phone(browser, live_server.url, build.builder)
    phone.open(build)
    phone.ready(build)
    yield build, phone
    assert phone.said == []
    phone.context.close()


@pytest.mark.lengthy
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


@pytest.mark.lengthy
def test_the_next_reading_is_one_tap_away_without_a_connection(browser, live_server):
    build = make_bench(stages=1)
    first, second = build.revision.stages.get().steps.all()
    Tick.objects.create(build=build, step=first)
    Tick.objects.create(build=build, step=second)
    phone = Phone(browser, live_server.url, build.builder)
    phone.open(build)
    phone.ready(build)
    phone.open(build, "stages/stage-1/checks/check-1-1/")
    phone.cut()
    for key in ("check-1-2", "check-1-3", ""):  # on a page of the site's, then on the copy; after the last, the stage
        phone.page.fill("input.reading", "301")
        phone.page.click(".save:visible")
        way = phone.page.locator(".verdict.kept .verdict-actions a")
        expect(way).to_be_focused()
        way.click()
        phone.page.wait_for_url(f"**/stages/stage-1/{f'checks/{key}/' if key else ''}")
        phone.until("document.documentElement?.dataset.outbox === 'ready'")
    phone.cut(False)
    phone.sends_all()
    assert [r.check_row.key for r in Reading.objects.order_by("at")] == ["check-1-1", "check-1-2", "check-1-3"]
    assert phone.said == []
    phone.context.close()


@pytest.mark.lengthy
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


@pytest.mark.lengthy
def test_a_site_that_dies_before_its_copy_came_leaves_no_older_tick(bench):
    build, phone = bench
    phone.open(build, "stages/stage-1/")
    phone.context.route("**/copy/", lambda route: route.abort())
    box = phone.page.locator(".tickbox").first
    with phone.page.expect_event("requestfailed", lambda request: request.url.endswith("/copy/")):
        box.click()
    expect(box).to_have_attribute("aria-pressed", "true")
    assert Tick.objects.count() == 1
    phone.cut()
    phone.reload()  # the copy is from before the tick
    expect(box).to_have_attribute("aria-pressed", "true")
    expect(box.locator(".tick-word")).to_have_text("Done")
    box.click()  # taken back: what is pressed is what the page shows
    expect(box).to_have_attribute("aria-pressed", "false")
    phone.context.unroute("**/copy/")
    phone.cut(False)
    phone.sends_all()
    assert not Tick.objects.exists()


@pytest.mark.lengthy
def test_a_tick_taken_back_shows_on_every_page_before_it_is_sent(bench):
    build, phone = bench
    Build.objects.update(fast_track=True)
    for step in build.revision.stages.get(key="stage-1").steps.all():
        Tick.objects.create(build=build, step=step)
    phone.context.route("**/tick/", lambda route: route.abort())
    phone.open(build, "stages/stage-1/")
    line, box = phone.page.locator("#step-step-1-1"), phone.page.locator("#tick-step-1-1")
    line.locator("summary").click()
    box.click()
    for _ in range(2):  # at once, and on the page as the site sends it, which folds a ticked step to a line
        expect(box).to_be_visible()
        expect(box).to_have_attribute("aria-pressed", "false")
        expect(line).not_to_have_class("step is-ticked")
        expect(line.locator(".not-sent")).to_contain_text("not sent yet")
        expect(phone.page.locator("#next a")).to_contain_text("step 1")
        phone.open(build, "stages/stage-1/")
    phone.open(build, "stages/stage-1/grid/")
    expect(phone.page.locator("#step-step-1-1 input")).not_to_be_checked()
    expect(phone.page.locator("#step-step-1-1 input")).to_be_enabled()
    expect(phone.page.locator("#step-step-1-2 input")).to_be_checked()
    phone.context.unroute("**/tick/")
    phone.reload()
    phone.sends_all()
    assert [tick.step.key for tick in Tick.objects.all()] == ["step-1-2"]


@pytest.mark.lengthy
def test_a_verdict_that_is_cut_off_on_its_way_is_shown_and_no_empty_field(bench):
    build, phone = bench
    page, address = phone.page, "stages/stage-1/checks/check-1-1/"
    phone.read(build, "check-1-1", "311")
    phone.open(build, address + "?measure=1")

    def cut(route):
        if route.request.method == "POST":
            route.fulfill(response=route.fetch(), body="")
        else:
            route.continue_()

    page.route(f"**/{address}*", cut)
    page.fill("input.reading", "305")
    page.click(".save")
    expect(page.locator("#verdict .verdict-word .num")).to_contain_text("305")
    assert page.locator("input.reading").count() == 0
    assert [r.typed for r in Reading.objects.order_by("pk")] == ["311", "305"]


@pytest.mark.lengthy
def test_a_page_made_before_an_entry_came_in_shows_the_entry(browser, live_server):
    build = make_bench()
    phone = Phone(browser, live_server.url, build.builder, service_workers="block")
    page, other = phone.page, phone.context.new_page()
    phone.open(build, "stages/stage-1/")
    phone.context.route("**/tick/", lambda route: route.abort())
    page.locator(".tickbox").first.click()
    expect(page.locator(".tickbox").first).to_have_attribute("aria-pressed", "true")
    phone.context.unroute("**/tick/")

    def hold(route):
        """The site makes the page; then another tab sends what waits; then the page arrives."""
        answer = route.fetch()
        other.goto(f"{live_server.url}/builds/{build.pk}/")
        expect(other.locator("html[data-outbox=ready]")).to_be_attached()
        assert Tick.objects.count() == 1
        route.fulfill(response=answer)

    page.route("**/stages/stage-1/", hold)
    phone.open(build, "stages/stage-1/")
    assert phone.kept() == []
    expect(page.locator(".tickbox").first).to_have_attribute("aria-pressed", "true")
    phone.context.close()


@pytest.mark.lengthy
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
    phone.open(build, "parts/")
    expect(phone.page.locator("main form")).to_contain_text("R1")
    assert phone.page.locator("main button:visible, main input:enabled:visible").count() == 0  # nothing of it is sent
    phone.open(build, "stages/stage-2/checks/check-2-3/")
    assert phone.page.locator(".save:visible").count() == 0  # its cautions are not read yet: to read only


@pytest.mark.lengthy
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


@pytest.mark.lengthy
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


@pytest.mark.slow  # longer than the worker waits before it looks for a copy
def test_a_slow_page_that_the_phone_has_no_copy_of_is_waited_for(browser, live_server):
    build = make_bench()
    with bad_line("127.0.0.1", urlparse(live_server.url).port) as line:
        phone = Phone(browser, line.address, build.builder)
        phone.open(build)
        phone.ready(build)
        line.slow = ("/meters/", 7.0)
        phone.page.goto(line.address + "/meters/")
        expect(phone.page.locator("main form")).not_to_have_count(0)
        assert phone.page.url.endswith("/meters/") and not phone.page.locator("#not-sent-list").count()
        phone.context.close()


@pytest.mark.lengthy
def test_a_script_that_is_cut_off_on_its_way_leaves_no_copy_empty(browser, live_server):
    build, where = make_bench(), urlparse(live_server.url)
    with bad_line("127.0.0.1", where.port) as line:
        phone = Phone(browser, line.address, build.builder)
        phone.open(build)
        phone.ready(build)
        line.torn = "/static/offline/begin.js"
        path = f"/builds/{build.pk}/stages/stage-1/checks/check-1-1/"
        line.slow = (path, 60)
        phone.page.goto(line.address + path)  # the copy, since the page does not come
        expect(phone.page.locator("main input.reading")).to_be_visible()
        phone.context.close()
