"""A build, its phone and the counting: what was made on the phone and what the site stored."""

import re
from datetime import timedelta
from unittest.mock import patch

from django.utils import timezone
from playwright.sync_api import Error, TimeoutError

from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.bench.models import MadeSafe, Photo, Reading, Snag, Tick
from tests import factories
from tests.browser.test_first_screen import SCREEN, sign_in
from tests.browser.test_story import AXE, PATIENCE, RULES
from tests.browser.test_traps import issue

BUSY = "document.querySelector('form[data-outbox] [aria-busy=true], form[data-outbox=ticks] button:disabled') === null"
READY = "document.documentElement?.dataset.outbox === 'ready'"
KEPT = """async () => {
  const { all } = await import("/static/offline/store.js");
  const waits = (await all()).filter((entry) => entry.state !== "sent");
  return waits.map(({ files, ...entry }) => entry);
}"""
NOTEBOOK = """async (build) => {
  const { fact } = await import("/static/offline/store.js");
  const found = await fact("notebook:" + build);
  return found ? Object.keys(found.rules) : null;
}"""


def live_bench_of(ago: timedelta, **fields):
    """A bench whose live stage was switched on some time ago: power on record is never changed afterwards."""
    with patch("django.utils.timezone.now", return_value=timezone.now() - ago):
        return make_bench(live=True, **fields)


def make_bench(*, stages=2, checks=3, steps=2, hands_in=True, live=False, parts=(), **fields):
    """A build of a guide with a stage off and a stage on power, its cautions read (`live`: of stage 2 too, which puts
    power on record); a step of stage 2 puts hands in."""
    revision = factories.make_revision(stages=stages, checks=checks, steps=steps, gate=False, issued=False, parts=parts)
    if stages > 1 and hands_in:
        powered = revision.stages.get(key="stage-2")
        powered.checks.update(place=1)
        powered.steps.update(place=0)
        powered.steps.filter(key=f"step-2-{steps}").update(hands_in=True, place=2)
    build = factories.make_build(revision=issue(revision), **fields)
    for stage in revision.stages.all():
        if stage.is_powered and not live:
            continue
        acknowledge(open_sitting(build), stage, 230.0 if stage.is_powered else None)
    return build


class Phone:
    """A phone at the bench, with everything at hand that it needs without a connection."""

    def __init__(self, browser, base, person, script="", **more):
        """`script` runs before any other on each page."""
        self.context = browser.new_context(viewport=SCREEN, **more)
        self.context.add_init_script(script)
        self.page = self.context.new_page()
        self.page.set_default_timeout(PATIENCE)
        self.base = base
        self.said = []
        self.page.on("pageerror", lambda error: self.said.append(str(error)))
        if person:
            sign_in(self.page, base, person)

    def until(self, expression):
        """Playwright's own wait_for_function evaluates text in the page, which the content policy refuses."""
        for _ in range(400):
            if self.evaluate(expression):
                return
            self.page.wait_for_timeout(50)
        raise AssertionError(f"never true: {expression[:80]} at {self.page.url}: {self.page.inner_text('body')[:600]}")

    def evaluate(self, expression):
        """None where the page is left in the same moment."""
        try:
            return self.page.evaluate(expression)
        except Error as error:
            if "context was destroyed" not in str(error) and "navigation" not in str(error):
                raise
        return None

    def open(self, build, path=""):
        self.go(f"/builds/{build.pk}/{path}")

    def _save(self):
        """On a busy machine a click may take hold and be reported too late: it is not made again."""
        try:
            self.page.click(".save:visible", timeout=5000)
        except TimeoutError:
            if not self.page.locator("form[data-outbox] [aria-busy=true], .verdict:visible, .stop-page").count():
                raise

    def open_to_work(self, build, path):
        """A page that is closed by what the site knows says so while what would open it waits on the phone: look
        again, as the person does who reads that."""
        for _ in range(60):
            self.open(build, path)
            if not self.page.locator(".not-on-page").count():
                return
            self.page.wait_for_timeout(100)
        raise AssertionError(f"still not sent: {self.kept()}")

    def go(self, path):
        for last in (False, False, True):
            try:
                self.page.goto(self.base + path)
                break
            except Error as error:  # the page reloaded itself in the same moment, or hangs: a person loads it again
                if last or not any(each in str(error) for each in ("ERR_ABORTED", "Timeout")):
                    raise
        self.until(READY)

    def reload(self):
        self.page.reload()
        self.until(READY)

    def ready(self, build):
        """Wait for the worker, the copy and the notebook."""
        self.page.evaluate("navigator.serviceWorker.ready.then(() => null)")
        self.until("navigator.serviceWorker.controller !== null")
        for _ in range(200):
            rules, names = self.page.evaluate(NOTEBOOK, build.pk), self.page.evaluate("caches.keys()")
            if rules is not None and self.page.evaluate(f"caches.match('/builds/{build.pk}/copy/').then(Boolean)"):
                return
            self.page.wait_for_timeout(100)
        raise AssertionError(f"no copy: {rules} {names}")

    def kept(self) -> list[dict]:
        return self.page.evaluate(KEPT)

    def cut(self, on=True):
        self.context.set_offline(on)

    def sends_all(self):
        """Wait until nothing waits."""
        try:
            self.until(f"({KEPT})().then((entries) => entries.length === 0)")
        except AssertionError:
            raise AssertionError(self.kept()) from None

    def settled(self):
        """Nothing is on its way: no form is busy, and no page is about to come."""
        self.until(f"{BUSY} && {READY}")

    def shows(self, typed, where) -> bool:
        """Does the page say that it has this reading? A page that changed under the finger shows the field again."""
        result = self.page.locator(where)
        if not result.count():
            return False
        text = result.first.inner_text()
        return "witch off" in text or abs(volts(text) / volts(typed) - 1) < 0.005

    def read(self, build, key, typed, unit=""):
        """As a hand does it: where the page changes under the finger, look again and start over."""
        stage = "stage-" + key.split("-")[1]
        for _ in range(6):
            self.open_to_work(build, f"stages/{stage}/checks/{key}/")
            try:
                if not self.page.locator("input.reading:visible").count():
                    self.page.locator("#verdict a[href$='measure=1'], .kept button").first.click(timeout=5000)
                self.page.locator("input.reading:visible").fill(typed, timeout=5000)
                if unit:
                    self.page.check(f"[name=unit][value={unit}]")
                self._save()
            except TimeoutError:
                continue
            self.settled()
            if self.shows(typed, "#verdict .verdict-word .num:visible, .verdict.kept .num:visible, .stop-page"):
                return
        raise AssertionError(f"no field at {self.page.url}: {self.page.inner_text('main')[:800]}")


def volts(text: str) -> float:
    """What "0.31 kV" or "−301 V" says, in volts."""
    number, kilo = re.search(r"(-?[\d.]+)\s*(k?)", text.replace("\N{MINUS SIGN}", "-")).groups()
    return float(number) * (1000 if kilo else 1)


def stored(build) -> dict:
    return {
        "reading": sorted(Reading.objects.filter(build=build).values_list("typed", flat=True)),
        "tick": Tick.objects.filter(build=build).count(),
        "made-safe": sorted(MadeSafe.objects.filter(build=build).values_list("typed", flat=True)),
        "snag": sorted(Snag.objects.filter(build=build).values_list("words", flat=True)),
        "photo": Photo.objects.filter(build=build).count(),
    }


def accessible(page):
    """axe finds nothing on the page as it stands, by day and by night, and nothing sticks out of a phone's width."""
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        value = page.evaluate(AXE + f"; axe.run(document, {{runOnly: {RULES}}})")
        assert not value["violations"], [(v["id"], v["nodes"][0]["html"]) for v in value["violations"]]
    page.emulate_media(color_scheme="light")
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
