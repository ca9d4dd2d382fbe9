"""A builder at work on one phone: makes entries of every kind by hand and remembers each."""

from datetime import date, timedelta

from playwright.sync_api import TimeoutError

from tests.offline.bench import READY

TYPED = ["311", "305.2", "284", "298.8", "329.9", "296", "331", "0.31 kV", "301.4", "289.5", "270", "-301"]
CHECKS = [f"check-1-{n}" for n in (1, 2, 3)]
STEPS = ("step-1-1", "step-1-2")
LIVE = "check-2-1"


class Builder:
    def __init__(self, phone, build, rng, picture):
        self.phone, self.build, self.rng, self.picture = phone, build, rng, picture
        self.made, self.ticks, self.words, self.photos, self.safe, self.on = [], {}, [], 0, 0, 0

    def count(self) -> int:
        """Entries made and standing: of the ticks, those not taken back."""
        ticks = sum(self.ticks.values())
        return len(self.made) + ticks + len(self.words) + self.photos + self.safe + self.on

    def settled(self):
        self.phone.settled()

    def reading(self, key="", typed=""):
        key, typed = key or self.rng.choice(CHECKS), typed or self.rng.choice(TYPED)
        self.phone.read(self.build, key, typed)
        self.made.append((key, typed))

    def row(self):
        """A reading in the table, where one of its rows is open."""
        self.phone.open(self.build, "stages/stage-1/grid/")
        page, typed = self.phone.page, self.rng.choice(TYPED)
        rows = page.locator(".grid-row:has(form:not([hidden]) input.reading)")
        if not rows.count():
            self.reading()
            return
        key = rows.last.get_attribute("id").removeprefix("row-")
        field = page.locator(f"#row-{key} input.reading:visible")
        try:
            field.fill(typed, timeout=5000)
        except TimeoutError:  # the page changed under the finger
            return
        field.press("Enter")  # from here on it counts: where the page changed now, the field is empty and asks
        self.settled()
        if self.phone.shows(typed, f"#row-{key} .grid-verdict .num:visible"):
            self.made.append((key, typed))

    def tick(self):
        """The page has to show each step as it was left, sent or not, and as it is wished now once it is pressed."""
        step = self.rng.choice(STEPS)
        was = self.ticks.get(step, False)
        for _ in range(6):
            self.phone.open_to_work(self.build, "stages/stage-1/")
            if self.shows(step) != was:  # the finger came too late, or the page left under it and showed the wish
                raise AssertionError(f"{step} shown {not was}, left {was}: {self.phone.kept()}")
            try:
                self._press(step)
            except TimeoutError:  # the page changed under the finger before it was down
                continue
            self.settled()
            if self.shows(step) != was:
                self.ticks[step] = not was
                return
        raise AssertionError(f"{step} was never ticked: {self.phone.page.inner_text('main')[:800]}")

    def shows(self, step) -> bool:
        """Asked in one breath with whether the page stands: one that loads itself again has nothing laid on it yet."""
        pressed = f"document.querySelector('#tick-{step}[aria-pressed=true]')"
        self.phone.until(f"{READY} && document.querySelector('#tick-{step}') !== null")
        for _ in range(40):
            shown = self.phone.evaluate(f"{READY} ? {pressed} !== null : null")
            if shown is not None:
                return shown
            self.phone.page.wait_for_timeout(50)
        raise AssertionError(f"{step}: the page never stands: {self.phone.page.url}")

    def _press(self, step):
        line = self.phone.page.locator(f"#step-{step}")
        if line.locator("details.step-fold:not([open])").count():
            line.locator("summary").first.click(timeout=5000)
        line.locator(".tickbox").click(timeout=5000)

    def fast(self):
        """The steps that are open, ticked in one go; one that the page did not take is as it was."""
        self.phone.open(self.build, "stages/stage-1/grid/")
        page = self.phone.page
        boxes = page.locator(".fast-steps input[name=step]:not(:checked):not(:disabled)")
        steps = [step for step in STEPS if page.locator(f"#step-{step} input:not(:checked):not(:disabled)").count()]
        if not boxes.count() or not steps:
            return
        for step in steps:
            page.check(f"#step-{step} input")
        page.click(".fast-steps ~ p button")
        self.settled()
        done = [step for step in steps if page.locator(f"#step-{step} input:checked:disabled").count()]
        self.ticks |= dict.fromkeys(done, True)

    def snag(self):
        self.words.append(f"Snag {len(self.words) + 1}")
        self.phone.open(self.build, "stages/stage-1/snags/new/")
        page = self.phone.page
        page.check("[name=kind][value=other]")
        page.check("[name=severity][value=slowed]")
        page.fill("[name=words]", self.words[-1])
        if self.rng.random() < 0.3:
            page.set_input_files("[name=photo]", self.picture)
            self.photos += 1
        page.click("main form button.big")
        self.settled()

    def sheet(self):
        """A filled worksheet of yesterday: before anything else, since its lines come after what is on record."""
        self.phone.open(self.build, "stages/stage-1/sheet/")
        page = self.phone.page
        page.fill("[name=day]", (date.today() - timedelta(days=1)).isoformat())
        for n, key in enumerate(CHECKS):
            self.made.append((key, self.rng.choice(TYPED[:7])))
            page.fill(f"[name={key}-typed]", self.made[-1][1])
            page.fill(f"[name={key}-at]", f"10:{n + 10}")
        if page.locator("[name=read]").count():
            page.check("[name=read]")
        page.click("main form button.big")
        self.settled()

    def power(self):
        """Power on in the live stage, a reading there, and the kit made safe again."""
        self.phone.open_to_work(self.build, f"stages/stage-2/checks/{LIVE}/?measure=1")
        self.phone.page.click(".switch-on:not([hidden]) button")
        self.settled()
        self.on += 1
        self.reading(LIVE, self.rng.choice(TYPED[:4]))
        self.phone.open(self.build, "make-safe/")
        self.phone.page.fill("input.reading", "3")
        self.phone.page.click("main form button.big")
        self.settled()
        self.safe += 1

    def act(self, *, power=True):
        acts = {self.reading: 4, self.row: 3, self.tick: 2, self.fast: 1, self.snag: 1, self.power: 1 if power else 0}
        self.rng.choices(list(acts), list(acts.values()))[0]()
