"""The whole job, played in a browser: a guide comes in, two builders build, the designer sees where it went wrong."""

import io
import re
from pathlib import Path

import pytest
from django.urls import reverse
from PIL import Image
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from builds.accounts.models import Person
from builds.bench.models import Build, Reading
from builds.guides.demo.files import demo_zip
from tests.clearing import clear_though_frozen
from tests.factories import PASSWORD

pytestmark = [pytest.mark.browser, pytest.mark.concurrent, pytest.mark.django_db(transaction=True), pytest.mark.lengthy]
AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text()
READY = "html[data-outbox=ready]"  # a tap before the page is ready is sent another way
RESTS = READY + ":not(:has(#offline-bar[data-count]:not([data-count='0'])))"  # and everything is sent
PHONE = {"viewport": {"width": 390, "height": 800}}
PATIENCE = 40_000  # ms, before a page counts as hung: a busy machine is slow, and no test is about its speed
expect.set_options(timeout=PATIENCE)
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


def accessible(page: Page):
    """axe finds nothing on the page, by day and by night, and nothing sticks out of a phone's width."""
    page.wait_for_load_state("load")  # the stylesheet too: without it every link is a small target
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        value = page.evaluate(AXE + f"; axe.run(document, {{runOnly: {RULES}}})")
        assert not value["violations"], [(v["id"], v["nodes"][0]["html"]) for v in value["violations"]]
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")


@pytest.fixture(autouse=True)
def cleared_though_frozen(transactional_db, live_server):
    yield
    clear_though_frozen()


@pytest.fixture
def small_guide():
    """A guide with the powered checks that matter, made from the demo's own format."""
    return (Path(__file__).parent / "small-guide.toml").read_bytes()


@pytest.fixture
def photo(tmp_path):
    path = tmp_path / "photo.jpg"
    Image.new("RGB", (1600, 1200), "#886644").save(path)
    return path


def press(page, button):
    """Press a button that sends a form, and wait for the page that answers: going on at once would drop the post."""
    with page.expect_navigation():
        page.click(button)


def go(page, url):
    """Open an address once the page at hand rests.

    On a busy machine a reading may wait on the phone for its answer, with the verdict there already. When it is sent
    the page loads itself again or leads to the stop; within seconds of a tap the browser holds that for what the person
    asked for, and drops an address opened meanwhile (net::ERR_ABORTED).
    """
    expect(page.locator(RESTS)).to_be_attached()
    page.goto(url)


class Bench:
    """A builder on a phone."""

    def __init__(self, browser, base, link, name):
        self.page = browser.new_context(**PHONE).new_page()
        self.page.set_default_timeout(PATIENCE)
        self.base = base
        self.page.goto(link)
        self.page.fill("[name=display_name]", name)
        self.page.fill("[name=password]", PASSWORD)
        self.page.fill("[name=password_again]", PASSWORD)
        self.page.check("[name=read_cautions]")
        accessible(self.page)
        self.page.click("main button.big")
        expect(self.page.locator("h2", has_text="Stages")).to_be_visible()
        accessible(self.page)
        self.home = self.page.url

    def follow(self, line, title):
        """Click a line's link and wait for the page it leads to: only then may one count what stands there."""
        press(self.page, f"{line} >> text={title}")
        self.page.wait_for_selector(READY)

    def open(self, title, mains="230"):
        go(self.page, self.home)
        self.follow(".stage-line", title)
        if self.page.locator("[name=read]").count():
            if self.page.locator("[name=mains]").count():
                self.page.fill("[name=mains]", mains)
            self.page.check("[name=read]")
            press(self.page, "button.big")
            self.page.wait_for_selector(READY)

    def tick_all(self):
        # Each tick swaps its own row, so the unticked ones are counted anew; the first count waits for the page.
        expect(self.page.locator(".tickbox").first).to_be_visible()
        while self.page.locator(".tickbox[aria-pressed=false]").count():
            left = self.page.locator(".tickbox[aria-pressed=false]").count()
            self.page.locator(".tickbox[aria-pressed=false]").first.click()
            expect(self.page.locator(".tickbox[aria-pressed=false]")).to_have_count(left - 1)

    def read(self, title, typed, *, expects, unit=""):
        self.follow(".check-line", title)
        if not self.page.locator("[name=typed]").count():  # read before: its verdict is shown
            self.page.click("#verdict a[href$='measure=1']")
        self.page.fill("[name=typed]", typed)
        if unit:
            self.page.check(f"[name=unit][value={unit}]")
        self.page.click(".save")
        if expects == "switch off":
            self.page.wait_for_url("**/stop/")
        else:
            expect(self.page.locator("#verdict .chip").first).to_contain_text(expects)

    def back(self, title):
        self.follow(".crumbs", title)

    def made_safe(self, typed="3.2"):
        go(self.page, self.home + "make-safe/")
        self.page.fill("[name=typed]", typed)
        self.page.wait_for_selector(READY)
        self.page.click("main form button.big")  # refused, it comes back in the same page


@pytest.fixture
def designer(browser, live_server):
    Person.objects.create_person("The designer", PASSWORD, may_design=True)
    page = browser.new_context(viewport={"width": 1280, "height": 900}).new_page()
    page.set_default_timeout(PATIENCE)
    page.goto(live_server.url + "/sign-in/")
    page.fill("[name=username]", "The designer")
    page.fill("[name=password]", PASSWORD)
    press(page, "main button")
    return page


def import_and_issue(page, guide, tmp_path, name="guide.toml"):
    path = tmp_path / name
    path.write_bytes(guide)
    page.click("text=Import a guide")
    page.set_input_files("[name=guide]", path)
    page.click("main button")
    expect(page.locator(".notice", has_text="Imported as a draft")).to_be_visible()
    page.click("summary:has-text('Issue')")
    reason = page.locator("[name=reason]")
    if reason.count():
        reason.fill("The prototype reads so; the circuit is computed later.")
    page.click("button:has-text('Issue revision')")
    expect(page.locator("h1 .chip")).to_have_text("issued")


def make_build(page, base, serial) -> str:
    go(page, base + "/review/small-amp/A/builds/")
    page.fill("[name=serial]", serial)
    page.press("[name=serial]", "Enter")
    return page.locator(".linkline code").inner_text()


def test_from_guide_to_fault_summary(designer, browser, live_server, small_guide, photo, tmp_path):
    base = live_server.url
    import_and_issue(designer, small_guide, tmp_path)
    good_link, bad_link = (make_build(designer, base, serial) for serial in ("S-1", "S-2"))
    accessible(designer)

    good = Bench(browser, base, good_link, "Builder 21")
    good.open("Wiring")
    good.page.set_input_files("input[type=file]", photo)
    good.page.click(".step-photo button")
    expect(good.page.locator(".step-photo img").first).to_be_visible()
    good.tick_all()
    good.read("Mains earth to chassis", "0.1", unit="Ω", expects="in band")
    good.open("First power")
    accessible(good.page)
    for title, typed in (("Heaters at V2", "6.35"), ("B+ at the reservoir", "318")):
        good.read(title, typed, expects="in band")
        good.back("First power")
    good.tick_all()
    expect(good.page.locator(".notice.success")).to_be_visible()
    go(good.page, good.home)
    good.page.click("main form button.big")
    expect(good.page.locator(".notice").first).to_contain_text("Signed off")

    bad = Bench(browser, base, bad_link, "Builder 22")
    go(bad.page, bad.home + "stages/first-power/")
    expect(bad.page.locator(".notice.warn")).to_contain_text("is a gate")  # shut until the wiring is done
    bad.open("Wiring")
    bad.page.set_input_files("input[type=file]", photo)
    bad.page.click(".step-photo button")
    expect(bad.page.locator(".step-photo img").first).to_be_visible()
    bad.tick_all()
    bad.read("Mains earth to chassis", "0.1", unit="Ω", expects="in band")
    bad.open("First power")
    bad.read("Heaters at V2", "5.1", expects="out of band")
    bad.back("First power")
    bad.follow(".check-line", "B+ at the reservoir")
    expect(bad.page.locator("[name=typed]")).to_have_count(0)  # an order to switch off stands
    bad.back("First power")
    bad.read("Heaters at V2", "6.35", expects="in band")
    bad.back("First power")
    bad.read("B+ at the reservoir", "1.8", expects="out of band")
    expect(bad.page.locator(".hints")).to_contain_text("F2 is blown")
    accessible(bad.page)
    bad.page.locator(".thumb a").first.click()
    bad.page.check("input[value=reading]")
    bad.page.check("input[value=stopped]")
    bad.page.fill("[name=words]", "No B+ at all, <b>F2</b> is whole.")
    bad.page.set_input_files("[name=photo]", photo)
    bad.page.click("main form button.big")
    expect(bad.page.locator(".quoted")).to_contain_text("<b>F2</b> is whole")  # escaped, not bold
    bad.open("First power")
    bad.read("B+ at the reservoir", "455", expects="switch off")
    expect(bad.page.locator(".stop-word")).to_contain_text("Switch off now")
    accessible(bad.page)
    go(bad.page, bad.home)
    assert bad.page.url.endswith("/stop/")  # nothing else is asked before it is made safe
    bad.made_safe("75")
    expect(bad.page.locator(".error")).to_contain_text("not safe")
    bad.made_safe("2.4")
    expect(bad.page.locator(".notice").first).to_contain_text("Made safe")

    go(designer, base + "/review/small-amp/A/")
    expect(designer.locator(".alarm")).to_contain_text("S-2")
    expect(designer.locator(".alarm")).to_contain_text("455")
    expect(designer.locator("table.matrix")).to_contain_text("Builder 21")
    accessible(designer)
    with designer.expect_download() as download:
        go(designer, base + "/reports/small-amp/A/fault-summary/")
        accessible(designer)
        designer.click("main .actions >> text=PDF")
    text = "\n".join(p.extract_text() for p in PdfReader(io.BytesIO(Path(download.value.path()).read_bytes())).pages)
    for said in ("2 builds made", "B+ at the reservoir", "Heaters at V2", "F2", "455", "S-2"):
        assert said in text, said
    assert Reading.objects.filter(outcome="switch off").count() == 1


def test_a_double_tap_makes_one_reading(designer, browser, live_server, small_guide, photo, tmp_path):
    import_and_issue(designer, small_guide, tmp_path)
    bench = Bench(browser, live_server.url, make_build(designer, live_server.url, "S-3"), "Builder 23")
    bench.open("Wiring")
    bench.follow(".check-line", "Mains earth")
    bench.page.fill("[name=typed]", "0.1")
    bench.page.check("[name=unit][value=Ω]")
    bench.page.locator(".save").dblclick()
    expect(bench.page.locator("#verdict .chip").first).to_contain_text("in band")
    assert Reading.objects.count() == 1


def test_the_bench_works_without_javascript(designer, browser, live_server, small_guide, tmp_path):
    import_and_issue(designer, small_guide, tmp_path)
    link = make_build(designer, live_server.url, "S-4")
    page = browser.new_context(java_script_enabled=False, **PHONE).new_page()
    page.goto(link)
    page.fill("[name=display_name]", "Builder 24")
    page.fill("[name=password]", PASSWORD)
    page.fill("[name=password_again]", PASSWORD)
    page.check("[name=read_cautions]")
    press(page, "main button.big")
    build = Build.objects.get(serial="S-4")
    page.goto(live_server.url + reverse("bench:check", args=[build.pk, "wiring", "earth-bond"]))
    if page.locator("[name=read]").count():
        page.check("[name=read]")
        press(page, "button.big")
        page.goto(live_server.url + reverse("bench:check", args=[build.pk, "wiring", "earth-bond"]))
    page.fill("[name=typed]", "nonsense")
    press(page, ".save")
    assert page.locator("[name=typed]").input_value() == "nonsense"  # nothing typed is lost
    assert "cannot be read" in page.locator(".error").inner_text()
    page.fill("[name=typed]", "0.2")
    press(page, ".save")
    assert "kΩ or MΩ" in page.locator(".error").inner_text() and not Reading.objects.exists()
    page.fill("[name=typed]", "OL")
    press(page, ".save")
    assert "out of band" in page.locator("#verdict").inner_text()
    assert re.search("Over range", page.locator("#verdict").inner_text())


def test_the_demo_guide_comes_in_whole(designer, live_server, tmp_path):
    import_and_issue(designer, demo_zip(), tmp_path, "guide.zip")
    accessible(designer)
    assert designer.locator("svg.resistor").count() > 10
