"""On a phone everything of a check is in the first screen: the field and its button, then the verdict and the way on.

Measured on every check of both demonstration guides at 360 by 740, the smaller of common phones; with German around
the guide's English, whose words are longer, and with twice the text, on those that take the most room.
"""

from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from builds.bench.gates.gating import find_power
from builds.bench.gates.sittings import acknowledge, open_sitting, switch_on
from builds.bench.models import Build, MadeSafe, Photo, PowerOn, Tick
from builds.bench.readings.context import build_context
from builds.guides.circuit.stored import compute_figures
from builds.guides.demo.files import demo_zip
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file import read_guide, store_guide
from builds.guides.models import Revision, Stage
from checks.quantity import format_quantity
from tests import factories
from tests.browser.looking import open_page
from tests.browser.test_story import cleared_though_frozen  # noqa: F401

pytestmark = [
    pytest.mark.browser,
    pytest.mark.appearance,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]
SCREEN = {"width": 360, "height": 740}
SAMPLES = 300  # enough figures for pages to be measured on; the figures themselves are tested elsewhere
WITH_KEYS = {"width": 360, "height": 400}  # what an on-screen keyboard leaves of it
CROWDED = 2  # checks a stage that are tried with twice the text: those that take the most room
CHECKS = {"five-watt": 20, "line-preamp": 20}  # each guide has more
SHARES = 3  # tests that share the stages of a guide, so that several workers look
ENGLISH, GERMAN = "en-GB", "de-DE"
SHARED = [(kit, n, ENGLISH) for kit in CHECKS for n in range(SHARES)] + [("five-watt", 1, GERMAN)]
TARGET = 44  # px, the least side of what a finger hits (WCAG 2.2, 2.5.5)
BAR, PANEL = ".thumb", ".reading-panel"  # what may lie over the page: a thing in sight ends above it
IN_SIGHT = """(element, edge) => {
  const box = element.getBoundingClientRect(), bar = document.querySelector(edge).getBoundingClientRect();
  const x = box.x + box.width / 2, y = box.y + box.height / 2, top = document.elementFromPoint(x, y);
  return window.scrollY === 0 && box.top >= 0 && box.bottom <= bar.top + 1 && box.left >= 0
    && box.right <= innerWidth && !!top && (element === top || element.contains(top) || top.contains(element));
}"""

IN_SCREEN = IN_SIGHT.replace("window.scrollY === 0 && ", "")  # where the page has gone to what came
TWICE = "document.documentElement.style.fontSize = '200%'"

SEEN = """(element) => { const box = element.getBoundingClientRect();
  return box.top >= 0 && box.bottom <= innerHeight && !!element.getClientRects().length; }"""


def issued_guide(kit: str) -> Revision:
    """A demonstration guide without gates, so that every stage is open at once."""
    revision = store_guide(read_guide(demo_zip(kit), "guide.zip"), factories.make_designer())
    Stage.objects.filter(revision=revision).update(gate=False)
    figures = compute_figures(revision, samples=SAMPLES)
    Revision.objects.filter(pk=revision.pk).update(state="issued", issued_at=timezone.now(), figures=figures)
    return Revision.objects.get(pk=revision.pk)


def ready_build(revision, builder=None) -> Build:
    """Every step ticked, its photo there, every caution read and the kit made safe since."""
    build = factories.make_build(revision=revision, builder=builder)
    sitting = open_sitting(build)
    for stage in revision.stages.all():
        acknowledge(sitting, stage, 230.0)
        for step in stage.steps.all():
            Tick.objects.create(build=build, step=step)
            Photo.objects.create(build=build, stage=stage, step=step)
    MadeSafe.objects.create(build=build, typed="2", volts=2.0, is_safe=True)
    return build


def good_reading(build, check) -> str:
    """What a meter shows in the middle of the band, with its unit."""
    reading = build_context(build, check, 230.0 if check.stage.is_powered else None)
    band = reading.meter_band
    if band is None:
        return format_quantity(1.0, reading.measure.shows)
    middle = band.expected
    if middle is None:
        low, high = band.low, band.high
        middle = (low + high) / 2 if None not in (low, high) else low * 2 if low is not None else high / 10
    if reading.measure.shows == "Ω" and 0 < middle < 1:
        return f"{middle:.2f} Ω"  # no meter shows milliohms
    return format_quantity(middle, reading.measure.shows)


def low_reading(build, check) -> str | None:
    """What a meter shows well below the band, or above one that has no lower end; None where the check has no band."""
    reading = build_context(build, check, 230.0 if check.stage.is_powered else None)
    band = reading.meter_band
    if band is None or (band.low or band.high) is None:
        return None
    return format_quantity(band.low * 0.6 if band.low else band.high * 1.3, reading.measure.shows)


def crowded(build, stage) -> list:
    """The checks of a stage whose names and figures take the most room, of those that can be read out of band."""
    typed = [c for c in stage.checks.all() if not (c.formula or c.recording) and low_reading(build, c)]
    return sorted(typed, key=lambda check: len(check.title) + len(low_reading(build, check)))[-CROWDED:]


@pytest.fixture
def phone(browser, live_server, language):
    return open_page(browser, viewport=SCREEN, locale=language)


@pytest.fixture
def language():
    return ENGLISH


def sign_in(page, base, person):
    page.goto(base + "/sign-in/")
    page.fill("[name=username]", person.display_name)
    page.fill("[name=password]", factories.PASSWORD)
    with page.expect_navigation():  # to go on at once would drop the post
        page.click("main button")


def complaints(page, build, check):
    """Yield what of one check's page is out of sight before and after its reading, or too small to hit."""
    where = f"{check.stage.key}/{check.key}"
    parts = [("field", "input.reading", BAR), ("button", ".save", BAR)]
    parts += [("place", ".probes", PANEL), ("figures", ".where", PANEL)]
    for name, selector, edge in parts:
        if not page.locator(selector).first.evaluate(IN_SIGHT, edge):
            yield f"{where}: the {name} is out of sight"
    yield from (f"{where}: {small}" for small in small_targets(page))
    typed = good_reading(build, check)
    page.wait_for_selector("html[data-outbox=ready]")  # a tap before the page is ready is sent another way
    page.fill("input.reading", typed)
    page.click(".save")
    page.wait_for_selector("#verdict .chip, .reading-panel .error, .stop-word")
    if not page.locator("#verdict .chip").count():
        yield f"{where}: no verdict on {typed}: {page.locator('.error, .stop-word').first.inner_text()}"
        return
    for name, selector in (("verdict", "#verdict .verdict-word"), ("way on", ".verdict-actions .button")):
        if not page.locator(selector).first.evaluate(IN_SIGHT, BAR):
            yield f"{where}: after the reading the {name} is out of sight"
    if page.locator("input.reading").count():
        yield f"{where}: the field is still there beside its verdict"
    yield from (f"{where}: {small}" for small in small_targets(page))


def complaints_of_figure(page, base, build, check):
    """A figure that is calculated or recorded: its verdict and the way on, or the one thing to do for it."""
    where = f"{check.stage.key}/{check.key}"
    page.goto(base + reverse("bench:check", args=[build.pk, check.stage.key, check.key]))
    parts = [("thing to do", ".reading-panel .button.big")]
    if page.locator("#verdict").count():
        parts = [("verdict", "#verdict .verdict-word"), ("way on", ".verdict-actions .button")]
    for name, selector in parts:
        if not page.locator(selector).first.evaluate(IN_SIGHT, BAR):
            yield f"{where}: the {name} is out of sight"
    yield from (f"{where}: {small}" for small in small_targets(page))


def small_targets(page) -> list[str]:
    return page.evaluate(
        """least => [...document.querySelectorAll('main button, main a.button, .thumb a, .unit-key, input.reading')]
          .filter(e => e.getClientRects().length && !e.closest('details:not([open])'))
          .filter(e => e.getBoundingClientRect().height < least || e.getBoundingClientRect().width < least)
          .map(e => `${e.textContent.trim() || e.name} is a small target`)""",
        TARGET,
    )


@pytest.mark.parametrize(("kit", "share", "language"), SHARED)
def test_field_button_verdict_and_way_on_are_in_the_first_screen_of_every_check(
    kit, share, phone, live_server, language
):
    build = ready_build(issued_guide(kit))
    sign_in(phone, live_server.url, build.builder)
    stages, wrong, seen = load_guide(build.revision).stages, [], 0
    assert sum(stage.checks.count() for stage in stages) > CHECKS[kit]
    for stage in stages[share::SHARES]:
        for check in stage.checks.all() if language == ENGLISH else crowded(build, stage):
            if check.formula or check.recording:  # nothing is typed there
                wrong += complaints_of_figure(phone, live_server.url, build, check)
                seen += 1
                continue
            if not stage.is_powered:
                MadeSafe.objects.create(build=build, typed="2", volts=2.0, is_safe=True)
            elif not find_power(build).needs_made_safe:
                switch_on(build, stage, PowerOn.Why.AGAIN, by=build.builder, entry_key=uuid4())
            phone.goto(live_server.url + reverse("bench:check", args=[build.pk, stage.key, check.key]))
            wrong += complaints(phone, build, check)
            seen += 1
    assert seen and not wrong, "\n".join(wrong)


@pytest.mark.parametrize(("kit", "share"), [(kit, n) for kit in CHECKS for n in range(SHARES)])
def test_with_twice_the_text_a_reading_out_of_band_shows_its_verdict_and_the_way_on(kit, share, phone, live_server):
    """In one screen, though the page has gone there: nobody scrolls to learn what to do at a live chassis."""
    first = ready_build(issued_guide(kit))
    sign_in(phone, live_server.url, first.builder)
    wrong, seen = [], 0
    for stage in load_guide(first.revision).stages[share::SHARES]:
        for check in crowded(first, stage):
            build = ready_build(first.revision, first.builder)  # out of band, one locks the others
            typed = low_reading(build, check)
            MadeSafe.objects.create(build=build, typed="2", volts=2.0, is_safe=True)
            if stage.is_powered:
                switch_on(build, stage, PowerOn.Why.AGAIN, by=build.builder, entry_key=uuid4())
            phone.goto(live_server.url + reverse("bench:check", args=[build.pk, stage.key, check.key]))
            phone.wait_for_selector("html[data-outbox=ready]")
            phone.evaluate(TWICE)
            phone.fill("input.reading", typed)
            phone.click(".save")
            phone.wait_for_selector("#verdict .verdict-actions a, .reading-panel .error, .stop-word, .ask")
            if not phone.locator("#verdict .chip.o-out").count():  # a stop has a page to itself; a question comes first
                continue
            seen += 1
            for name, selector in (("verdict", "#verdict .verdict-word .chip"), ("way on", ".verdict-actions .button")):
                if not phone.locator(selector).first.evaluate(IN_SCREEN, BAR):
                    wrong.append(f"{stage.key}/{check.key}: after {typed} the {name} is out of sight")
    assert seen and not wrong, f"{seen} seen\n" + "\n".join(wrong)


@pytest.mark.parametrize("text", ["100%", "150%"])
@pytest.mark.parametrize("kit", CHECKS)
def test_the_button_is_in_sight_beside_the_field_while_the_phones_keys_are_up(kit, text, phone, live_server):
    """The keys take about half of a phone; browsers that lay the page out in what is left bring the field into it."""
    build = ready_build(issued_guide(kit))
    sign_in(phone, live_server.url, build.builder)
    wrong, seen = [], 0
    for stage in load_guide(build.revision).stages:
        check = next((c for c in stage.checks.all() if not (c.formula or c.recording)), None)
        if check is None:
            continue
        MadeSafe.objects.create(build=build, typed="2", volts=2.0, is_safe=True)
        if stage.is_powered:
            switch_on(build, stage, PowerOn.Why.AGAIN, by=build.builder, entry_key=uuid4())
        phone.set_viewport_size(SCREEN)
        phone.goto(live_server.url + reverse("bench:check", args=[build.pk, stage.key, check.key]))
        phone.evaluate(TWICE.replace("200%", text))
        phone.set_viewport_size(WITH_KEYS)
        phone.focus("input.reading")
        phone.locator("input.reading").evaluate("field => field.scrollIntoView({block: 'center'})")
        seen += 1
        for name, selector in (("field", "input.reading"), ("button", ".reading-form .save")):
            if not phone.locator(selector).first.evaluate(IN_SCREEN, BAR):
                wrong.append(f"{stage.key}/{check.key}: the {name} is out of sight")
    assert seen and not wrong, "\n".join(wrong)


@pytest.mark.parametrize("kit", ["five-watt", "line-preamp"])
def test_what_is_next_is_in_the_first_screen_of_every_stage_and_table(kit, phone, live_server):
    build = ready_build(issued_guide(kit))
    Tick.objects.filter(build=build).delete()
    sign_in(phone, live_server.url, build.builder)
    wrong = []
    for stage in load_guide(build.revision).stages:
        if stage.is_powered and not find_power(build).needs_made_safe:
            switch_on(build, stage, PowerOn.Why.AGAIN, by=build.builder, entry_key=uuid4())
        elif not stage.is_powered:
            MadeSafe.objects.create(build=build, typed="2", volts=2.0, is_safe=True)
        phone.goto(live_server.url + reverse("bench:stage", args=[build.pk, stage.key]))
        if not phone.locator("#next a").evaluate(IN_SIGHT, BAR):
            wrong.append(f"{stage.key}: the pointer to what is next is out of sight")
        phone.goto(live_server.url + reverse("bench:grid", args=[build.pk, stage.key]))
        for name in ("input.reading", "button:not([type=button])"):
            part = phone.locator(f".grid-form {name}")
            if part.count() and not part.first.evaluate(IN_SIGHT, BAR):
                wrong.append(f"{stage.key}: the table's first {name} is out of sight")
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("language", [ENGLISH, GERMAN])
def test_the_made_safe_field_its_verdict_and_what_to_do_are_in_the_first_screen(phone, live_server):
    build = ready_build(issued_guide("five-watt"))
    stage = build.revision.stages.get(key="valves-in")
    switch_on(build, stage, PowerOn.Why.AGAIN, by=build.builder, entry_key=uuid4())
    sign_in(phone, live_server.url, build.builder)
    said = (("75", ".error", "input.reading"), ("2.4", ".notice", "#next a, .switch-on button"))
    for typed, answer, ways in said:
        phone.goto(live_server.url + reverse("bench:make-safe", args=[build.pk]) + f"?back={stage.key}")
        phone.wait_for_selector("html[data-outbox=ready]")
        for part in ("input.reading", ".save"):  # whoever has the probe on the reservoir scrolls to nothing
            assert phone.locator(f".safe-form {part}").evaluate(SEEN), f"{part} at {phone.url}"
        phone.fill("input.reading", typed)
        phone.click("main form button.big")
        phone.locator(f"main {answer}").first.wait_for()
        for part in (answer, ways):
            expect(phone.locator(f"main {part}").first, f"{part} after {typed}").to_be_in_viewport(ratio=0.99)
