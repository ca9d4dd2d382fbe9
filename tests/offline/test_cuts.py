"""The line cut at every moment, over and over: made = stored, once each, with the verdict that the site gives."""

import os
import random
from urllib.parse import urlparse

import pytest
from PIL import Image

from builds.bench.models import Photo, Reading, Receipt, Snag, Tick
from builds.bench.readings.context import judge_typed
from tests.browser.test_story import cleared_though_frozen  # noqa: F401
from tests.offline.bench import Phone, make_bench
from tests.offline.line import CUTS, bad_line

pytestmark = [pytest.mark.browser, pytest.mark.concurrent, pytest.mark.django_db(transaction=True)]
TYPED = ["311", "305.2", "284", "298.8", "329.9", "296", "331", "0.31 kV", "301.4", "289.5", "270", "-301"]
CHECKS = [f"check-1-{n}" for n in (1, 2, 3)]


def cut_often(rng, share=0.6):
    return lambda: rng.choice(CUTS) if rng.random() < share else None


class Builder:
    """Makes entries by hand on one phone and remembers each."""

    def __init__(self, phone, build, rng, picture):
        self.phone, self.build, self.rng, self.picture = phone, build, rng, picture
        self.made, self.ticks, self.words, self.photos = [], {}, [], 0

    def reading(self):
        key, typed = self.rng.choice(CHECKS), self.rng.choice(TYPED)
        self.phone.read(self.build, key, typed)
        self.settled()
        self.made.append((key, typed))

    def tick(self):
        step = self.rng.choice(("step-1-1", "step-1-2"))
        self.phone.open(self.build, "stages/stage-1/")
        box = self.phone.page.locator(f"#step-{step}")
        if box.locator("details:not([open])").count():
            box.locator("summary").first.click()
        box.locator(".tickbox").click()
        self.settled()
        self.ticks[step] = not self.ticks.get(step, False)

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

    def settled(self):
        """Nothing is on its way: the form is no longer busy."""
        self.phone.until("document.querySelector('form[data-outbox] [aria-busy=true]') === null")

    def act(self):
        self.rng.choices((self.reading, self.tick, self.snag), (6, 2, 1))[0]()


def matches(builder):
    """What the site has is what was made, once each and in order, judged as the site judges."""
    readings = list(Reading.objects.order_by("pk").select_related("check_row"))
    assert [(r.check_row.key, r.typed) for r in readings] == builder.made
    assert [r.at for r in readings] == sorted(r.at for r in readings)
    for reading in readings:
        assert reading.outcome == judge_typed(builder.build, reading.check_row, reading.typed, None).outcome.value
    assert sorted(Snag.objects.values_list("words", flat=True)) == sorted(builder.words)
    assert Photo.objects.count() == builder.photos
    assert set(Tick.objects.values_list("step__key", flat=True)) == {key for key, on in builder.ticks.items() if on}


@pytest.fixture
def picture(tmp_path):
    path = tmp_path / "photo.jpg"
    Image.new("RGB", (320, 240), "#886644").save(path)
    return path


def play(browser, live_server, picture, cuts, seed):
    """Work at the bench until the line was cut so many times; then let everything in."""
    rng, build = random.Random(seed), make_bench(steps=3)
    plans = iter(())
    with bad_line(*_where(live_server), lambda: next(plans, None)) as line:
        phone = Phone(browser, line.address, build.builder)
        phone.open(build)
        phone.ready(build)
        decide = cut_often(rng)
        plans = iter(decide, "never")
        builder = Builder(phone, build, rng, picture)
        while sum(line.cuts.values()) < cuts:
            builder.act()
        plans = iter(())
        phone.open(build)
        phone.sends_all()
        assert phone.said == []
        assert phone.page.evaluate("import('/static/offline/outbox.js').then((outbox) => outbox.unsent())") == []
        phone.context.close()
    matches(builder)
    assert set(line.cuts) == set(CUTS)
    return builder, line


def _where(live_server):
    address = urlparse(live_server.url)
    return "127.0.0.1", address.port


def test_a_line_cut_at_every_moment_loses_and_doubles_nothing(browser, live_server, picture):
    builder, _line = play(browser, live_server, picture, 60, seed=1)
    assert len(builder.made) > 10
    assert Receipt.objects.filter(kind="tick").count() >= sum(builder.ticks.values())


@pytest.mark.endurance
@pytest.mark.parametrize("seed", range(int(os.environ.get("CUT_SPELLS", "8"))))
def test_a_thousand_cuts_lose_and_double_nothing(browser, live_server, picture, seed):
    """Eight spells of 125 cuts each."""
    _builder, line = play(browser, live_server, picture, 125, seed=100 + seed)
    assert sum(line.cuts.values()) >= 125
