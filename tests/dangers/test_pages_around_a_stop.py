"""A thousand pages, papers and letters at and after a stop: none plays it down, none asks for a live reading."""

import io
import re
from collections import Counter
from datetime import timedelta
from random import Random

import pytest
from django.core import mail
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone, translation
from pypdf import PdfReader

from builds.bench.gates import sittings
from builds.bench.gates.gating import find_power
from builds.bench.models import MadeSafe, Photo, PowerOn, StageVisit, Tick
from builds.bench.readings.taking import take_reading
from builds.guides import revisions
from builds.guides.demo.files import demo_zip
from builds.guides.figures import band_for
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file import read_guide, store_guide
from builds.notifications.models import Preference
from tests import factories
from tests.dangers.page_scan import Bench, in_page, in_text

pytestmark = pytest.mark.django_db
BACKEND = "django.contrib.auth.backends.ModelBackend"
BUILD_PAGES = tuple(
    f"bench:{name}"
    for name in ("build", "stop", "make-safe", "valves", "readings", "meter-check", "designer", "copy", "notebook")
)
FURTHER_BUILD_PAGES = (
    *(f"bench:{name}" for name in ("map", "parts")),
    *(f"reports:{name}" for name in ("worksheet", "worksheet-pdf", "build-parts")),
)
KIT_PAGES = (
    *(f"review:{name}" for name in ("dashboard", "faults", "findings", "problems", "release")),
    *(f"reports:{name}" for name in ("summary", "pdf", "json")),
)
FURTHER_KIT_PAGES = (
    *(f"review:{name}" for name in ("builds", "map", "photos", "recordings", "batches", "coverage", "errata")),
    *(f"reports:{name}" for name in ("csv", "changes-csv", "specification", "archive")),
    "review:changes",
)
STATES = ("unanswered", "made safe", "new session", "switched on", "out again", "out again, made safe")


def signed_in(person) -> Client:
    client = Client()
    client.force_login(person, backend=BACKEND)
    return client


class Stopped:
    """A build of the demonstration guide that read well as far as a stop in one of its powered stages."""

    def __init__(self, revision, random: Random, state: str, every: bool = False):
        self.revision, self.random, self.state, self.every = revision, random, state, every
        self.moment = timezone.now() + timedelta(seconds=2)  # after the readings that are stored at once
        builder = factories.make_builder()
        factories.give_address(builder, f"builder-{builder.pk}@kits.example")
        self.build = factories.make_build(revision=revision, builder=builder)
        stages = load_guide(revision).stages
        self.stage = random.choice([stage for stage in stages if stage.is_powered])
        self._do_stages_before(stages)
        sittings.acknowledge(sittings.open_sitting(self.build), self.stage, 230.0)
        self._read_some()
        self.check = random.choice([c for c in self.stage.checks.all() if c.is_read and self._limits(c)])
        self._read(self.check, self._past())
        self._go_on()

    def _do_stages_before(self, stages):
        before = stages[: stages.index(self.stage)]
        steps = [step for stage in (*before, self.stage) for step in stage.steps.all()]
        Tick.objects.bulk_create([Tick(build=self.build, step=step) for step in steps])
        names = {"full": "a.jpg", "print_copy": "b.jpg", "thumb": "c.jpg"}
        wanted = [step for step in steps if step.photo_wanted]
        Photo.objects.bulk_create([Photo(build=self.build, stage=s.stage, step=s, **names) for s in wanted])
        StageVisit.objects.bulk_create([StageVisit(build=self.build, stage=s, done_at=timezone.now()) for s in before])
        checks = [check for stage in before for check in stage.checks.all()]
        factories.add_readings(rows=[(self.build, c, [(self._usual(c), "in band")]) for c in checks])

    @staticmethod
    def _usual(check) -> float:
        band = band_for(check)
        ends = [x for x in (band.expected, band.low, band.high) if x is not None]
        return ends[0] if ends else 1.0

    @staticmethod
    def _limits(check) -> list[float]:
        band = band_for(check)
        return [x for x in (band and band.stop_above, band and band.stop_below) if x is not None]

    def _read_some(self):
        """Some well, and sometimes one that is out, taken twice or near its limit."""
        for check in self.stage.checks.all():
            if check.is_read and self.random.random() < 0.6:
                share = self.random.choice((1, 1, 1, 1, 1, 0.8, 0.3, 1.001))
                self._read(check, self._usual(check) * share)

    def _past(self) -> float:
        limit, share = self.random.choice(self._limits(self.check)), self.random.choice((1.005, 1.05, 1.4, 4))
        return limit * share if limit else share

    def _out(self) -> float:
        """Out of band, short of the stop limit."""
        band = band_for(self.check)
        if band.stop_above is not None and band.high is not None:
            return (band.high + band.stop_above) / 2
        return (band.low + band.stop_below) / 2 if band.stop_below is not None else band.low * 0.2

    def _read(self, check, value: float):
        volts = value * 180 if check.through else value
        unit = {"A": "V"}.get(check.unit, check.unit)
        take_reading(
            self.build, check, f"{volts:#.6g} {unit}", by=self.build.builder, mains_volts=230.0, at=self._later()
        )

    def _go_on(self):
        if self.state == "unanswered":
            return
        self._make_safe()
        if self.state == "new session":
            self.build.sittings.update(ended_at=timezone.now())
        if self.state in ("switched on", "out again", "out again, made safe"):
            self._switch_on()
        if self.state.startswith("out again"):
            self._read(self.check, self._out())
        if self.state == "out again, made safe":
            self._make_safe()

    def _later(self):
        self.moment += timedelta(milliseconds=10)
        return self.moment

    def _make_safe(self):
        MadeSafe.objects.create(build=self.build, typed="1", volts=1.0, is_safe=True, at=self._later())

    def _switch_on(self):
        PowerOn.objects.create(build=self.build, stage=self.stage, why="again", at=self._later())

    @property
    def stops(self):
        rows = self.build.statuses.filter(stop__isnull=False).select_related("check_row__stage")
        return frozenset((row.check_row.stage.key, row.check_row.key) for row in rows)

    def bench_pages(self):
        pk, stages = self.build.pk, load_guide(self.revision).stages
        yield reverse("bench:builds")
        for name in (*BUILD_PAGES, *self._some(FURTHER_BUILD_PAGES)):
            yield reverse(name, args=[pk])
        yield reverse("bench:find", args=[pk]) + "?q=B%2B"
        for kind in ("voltage", "resistance"):
            yield reverse("bench:charts", args=[pk, kind])
        for stage in {self.stage, *self.random.sample(stages, 2)}:
            for name in ("stage", "grid", "cautions", *self._some(("sheet", "new-snag"))):
                yield reverse(f"bench:{name}", args=[pk, stage.key])
        checks = list(self.stage.checks.all())
        checks = {self.check, *self.random.sample(checks, min(5, len(checks)))}
        checks |= {self.random.choice([c for s in stages if not s.is_powered for c in s.checks.all()])}
        for check in checks:
            for query in ("", "?measure=1"):
                yield reverse("bench:check", args=[pk, check.stage.key, check.key]) + query

    def desk_pages(self):
        kit, pk = [self.revision.kit.key, self.revision.letter], self.build.pk
        yield reverse("review:build", args=[pk])
        for kind in ("voltage", "resistance"):
            yield reverse("review:charts", args=[pk, kind])
        yield reverse("review:deviation", args=[pk, self.check.pk])
        yield reverse("review:check", args=[*kit, self.check.pk])
        yield reverse("reports:build-record", args=[pk])
        yield reverse("review:programmes")
        for name in (*KIT_PAGES, *self._some(FURTHER_KIT_PAGES)):
            yield reverse(name, args=kit)
        for name in ("stage", *self._some(("stage-pdf",))):
            yield reverse(f"reports:{name}", args=[*kit, self.stage.key])

    def _some(self, names):
        """All of them with `every`, else three or fewer: over many builds all have their turn."""
        return names if self.every else self.random.sample(names, min(3, len(names)))


def text_of(answer) -> str:
    content = b"".join(answer) if answer.streaming else answer.content
    if answer["Content-Type"].startswith("application/pdf"):
        return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages)
    return content.decode()


def scan(client, addresses, bench, language, seen, wrong):
    for address in addresses:
        answer = client.get(address, headers={"accept-language": language})
        seen[answer.status_code] += 1
        if answer.status_code in (200, 409):
            text, is_page = text_of(answer), answer["Content-Type"].startswith("text/html")
            found = in_page(text, bench, language) if is_page else in_text(text, language)
            wrong += [f"{address} [{language}]: {one}" for one in found]


def run(scenarios: range, seed: int, every: bool = False) -> tuple[Counter, list[str]]:
    designer = factories.make_designer()
    factories.give_address(designer, "designer@kits.example")
    Preference.objects.create(person=designer, when="digest")
    revision = revisions.issue(store_guide(read_guide(demo_zip("five-watt"), "guide.zip"), designer))
    powered = frozenset(stage.key for stage in load_guide(revision).stages if stage.is_powered)
    seen, wrong, desk = Counter(), [], signed_in(designer)
    for number in scenarios:
        random = Random(seed + number)
        stopped = Stopped(revision, random, STATES[number % len(STATES)], every)
        assert stopped.stops, "the scenario has no stop"
        is_live = {stopped.build.pk} if stopped.state in ("switched on", "out again") else set()
        assert find_power(stopped.build).needs_made_safe is (bool(is_live) or stopped.state == "unanswered")
        bench = Bench(powered, {stopped.build.pk: stopped.stops}, frozenset(is_live))
        phone = signed_in(stopped.build.builder)
        for language in ("en", "de"):
            scan(phone, stopped.bench_pages(), bench, language, seen, wrong)
        scan(desk, stopped.desk_pages(), bench, "en", seen, wrong)
    with translation.override("en-gb"):
        call_command("digest")
    for letter in mail.outbox:
        seen["letters"] += 1
        wrong += [f"letter “{letter.subject}”: {one}" for one in in_text(f"{letter.subject}\n{letter.body}")]
    return seen, wrong


def told(wrong: list[str], seen: Counter) -> str:
    """What is wrong, each kind once."""
    kinds = dict.fromkeys(re.sub(r"/builds/\d+|/checks/\d+", "/…", one) for one in wrong)
    return "\n".join([f"{len(wrong)} on {dict(seen)}:", *list(kinds)[:80]])


@pytest.mark.slow  # a walk over the whole site
@pytest.mark.parametrize("half", [0, 1])  # of the states: two workers look
def test_no_page_paper_or_letter_plays_a_stop_down_or_asks_for_a_live_reading(half):
    seen, wrong = run(range(half, len(STATES), 2), 1)
    assert seen[200] >= 75 and not seen[500] and not seen[404], seen
    assert not wrong, told(wrong, seen)


@pytest.mark.endurance
def test_no_page_of_a_thousand_plays_a_stop_down_or_asks_for_a_live_reading():
    seen, wrong = run(range(36), 100, every=True)
    assert seen[200] >= 1000 and not seen[500] and not seen[404], seen
    assert not wrong, told(wrong, seen)


@pytest.mark.parametrize(
    "html",
    [
        "<p>This is most likely a slip.</p>",
        "<p>Measure it once again.</p>",
        '<p aria-label="Take a second reading"></p>',
        '<a class="button" href="/builds/7/stages/hot/checks/anode/">B+</a>',
        '<div class="hints"><a href="/builds/7/stages/hot/checks/anode/?measure=1">B+</a></div>',
        '<form action="/builds/7/stages/hot/checks/anode/readings/"><input name="typed"></form>',
        '<form action="/builds/7/stages/hot/checks/ht/readings/"><input name="typed"></form>',
        '<form action="/builds/7/stages/hot/switch-on/"><input name="check" value=""></form>',
        '<a class="card next linkcard" href="/builds/7/stages/hot/">Next</a>',
    ],
)
def test_the_scan_finds_what_has_no_place_there(html):
    assert in_page(html, Bench(frozenset({"hot"}), {7: frozenset({("hot", "ht")})}))


@pytest.mark.parametrize(
    "html",
    [
        "<p>Keep it unplugged until you have found the fault.</p>",
        '<div class="prose">Measure again.</div>',
        '<a class="button" href="/builds/7/stages/hot/checks/ht/#verdict">See possible causes</a>',
        '<a class="button" href="/builds/7/stages/cold/checks/r1/">R1</a>',
        '<form action="/builds/7/stages/cold/checks/r1/readings/"><input name="typed"></form>',
        '<form action="/builds/7/stages/hot/switch-on/"><input name="check" value="ht"></form>',
        '<a href="/builds/7/stages/hot/checks/anode/">a line of a list</a>',
        "<p>Note the date codes on the packing slip.</p>",
    ],
)
def test_the_scan_leaves_alone_what_has(html):
    assert not in_page(html, Bench(frozenset({"hot"}), {7: frozenset({("hot", "ht")})}))
