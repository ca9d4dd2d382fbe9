"""Every page of a builder on a phone of 360 by 740: twice the text, targets for a thumb, no id twice, axe by day and
night, drawings whose lettering can be read."""

from uuid import uuid4

import pytest
from django.urls import reverse

from builds.bench.gates.sittings import acknowledge, open_sitting, switch_on
from builds.bench.models import MadeSafe, PowerOn, Snag
from builds.bench.photos.storage import save_photo
from builds.bench.readings.taking import take_reading
from builds.guides.models import Check
from builds.review.demo.photos import draw_photo
from tests.browser.looking import BROKEN, FITS, open_page, violations
from tests.browser.test_first_screen import SCREEN, issued_guide, ready_build, sign_in
from tests.browser.test_story import cleared_though_frozen  # noqa: F401

pytestmark = [
    pytest.mark.browser,
    pytest.mark.appearance,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]
SHARES = 2  # tests that share the pages at rest, so that several workers look
LIVE = "/stages/valves-in/"
TARGET = 44  # px, the least side of what a finger hits (WCAG 2.2, 2.5.5)
LETTERS = 12  # px, the least height of lettering in a drawing as it is shown
TWICE = "document.documentElement.style.fontSize = '200%'"
OUT = """() => [...document.querySelectorAll("main *, header *, .thumb *")]
  .filter(e => e.checkVisibility() && e.getClientRects().length)
  .filter(e => !e.closest(".table-wrap, .tabs, .sections, .schematic-frame, .visually-hidden, .skip"))
  .map(e => [e, e.getBoundingClientRect()])
  .filter(([e, box]) => box.width > 1 && (box.right > innerWidth + 1 || box.left < -1))
  .map(([e]) => e.outerHTML.slice(0, 120)).slice(0, 1)"""
# Text squeezed into a column of single letters.
SQUEEZED = """() => [...document.querySelectorAll("main :is(p, dd, dt, li, h1, h2, label, a, button)")]
  .filter(e => e.checkVisibility() && e.textContent.trim().length > 8 && !e.closest("svg, .visually-hidden, table"))
  .filter(e => e.getBoundingClientRect().width < 2.5 * parseFloat(getComputedStyle(e).fontSize))
  .map(e => e.outerHTML.slice(0, 120)).slice(0, 1)"""
# What a panel that stays in sight leaves of the page above it.
COVERED = """() => {
  const panel = document.querySelector(".reading-panel"), title = document.querySelector(".check h1");
  return Boolean(panel && title && panel.getBoundingClientRect().top < title.getBoundingClientRect().bottom); }"""
# Links inside a sentence are as high as their line (WCAG 2.2, 2.5.8, exception "inline").
SMALL = """least => [...document.querySelectorAll("main button, main a, main summary, main select,"
    + "main input:not([type=hidden]), .thumb a, header a, header summary")]
  .filter(e => e.checkVisibility() && e.getClientRects().length)
  .filter(e => !(e.matches("a") && !e.matches(`.button, .card, .check-line, .hit, .grid-title, .enlarge, .actions > a,
    .picture-link`)
    && e.closest("p, li, dd, td, th, h1, h2, h3")))
  .filter(e => !(e.matches("input[type=checkbox], input[type=radio]") && e.closest("label")))
  .map(e => [e, e.getBoundingClientRect()])
  .filter(([e, box]) => box.height < least - .5 || box.width < 24)
  .map(([e, box]) => e.outerHTML.slice(0, 90) + " " + Math.round(box.width) + " by " + Math.round(box.height))"""
UNFOLDED = "document.querySelectorAll('.step-fold').forEach((step) => { step.open = true; })"
TWICE_USED = """() => { const all = [...document.querySelectorAll("[id]")].map(e => e.id);
  return all.filter((id, n) => all.indexOf(id) !== n); }"""
LETTERING = """least => [...document.querySelectorAll("main svg text")]
  .filter(e => e.checkVisibility() && e.textContent.trim())
  .map(e => [e, parseFloat(getComputedStyle(e).fontSize) * e.getScreenCTM().a])
  .filter(([e, px]) => px < least - .05)
  .map(([e, px]) => (e.closest("svg").getAttribute("class") || e.closest("figure").className) + ": " + px.toFixed(1))"""


@pytest.fixture
def bench(transactional_db):
    """A build in the middle of everything: read, off, photographed, with a snag."""
    build = ready_build(issued_guide("five-watt"))
    stage = build.revision.stages.get(key="unpack")
    off, read = stage.checks.all()[:2]
    take_reading(build, off, "999 Ω", by=build.builder)
    take_reading(build, off, "998 Ω", by=build.builder)
    take_reading(build, read, "100k", by=build.builder)
    photo = save_photo(
        draw_photo("a.jpg", "X", "x"), build=build, stage=stage, step=stage.steps.first(), by=build.builder
    )
    snag = Snag.objects.create(build=build, stage=stage, kind="fit", words="A snag " * 9, by=build.builder)
    save_photo(draw_photo("b.jpg", "Y", "y"), build=build, stage=stage, snag=snag, by=build.builder)
    return build, photo, snag


def go_live(build):
    acknowledge(open_sitting(build), build.revision.stages.get(key="valves-in"), 231.0, by=build.builder)


def addresses(build, photo, snag):
    """Every kind of page that a builder has, those of live work last."""
    pk = build.pk

    def at(name, *more):
        return reverse(f"bench:{name}", args=[pk, *more])

    return [
        reverse("bench:builds"),
        at("build"),
        at("stage", "unpack"),
        at("stage", "signal-board"),
        at("check", "unpack", "r8-alone"),
        at("check", "pre-power", build.revision.stages.get(key="pre-power").checks.first().key),
        at("grid", "unpack"),
        at("sheet", "unpack"),
        at("readings"),
        at("find") + "?q=V2",
        at("designer"),
        at("new-snag", "unpack"),
        at("snag", snag.pk),
        at("own-photo", photo.pk),
        at("make-safe"),
        at("valves"),
        at("meter-check"),
        at("charts", "voltage"),
        at("map"),
        at("parts"),
        reverse("reports:worksheet", args=[pk]) + "?stage=pre-power",
        *(reverse(f"accounts:{name}") for name in ("glossary", "safety", "aids", "meters", "preferences", "account")),
        reverse("notifications:mail"),
        at("cautions", "valves-in"),
        *(at(name, "valves-in") for name in ("stage", "grid", "sheet")),
        at("check", "valves-in", "v-v2-3"),
    ]


def complaints(page, base, address):
    page.goto(base + address)
    assert page.url == base + address, f"{address} leads to {page.url}"
    yield from page.evaluate(SMALL, TARGET)
    yield from (f"id {name} stands twice" for name in page.evaluate(TWICE_USED))
    yield from (f"lettering of {words} px" for words in page.evaluate(LETTERING, LETTERS))
    yield from (f"“{word}” is broken in two" for word in page.evaluate(BROKEN))
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        yield from (f"{words} by {scheme}" for words in violations(page))
    page.evaluate(UNFOLDED)
    assert page.evaluate(FITS), f"{address} with its steps open"
    page.evaluate(TWICE)
    assert page.evaluate(FITS), address
    yield from (f"twice the text is wider than the phone: {words}" for words in page.evaluate(OUT))
    yield from (f"twice the text is squeezed: {words}" for words in page.evaluate(SQUEEZED))
    if page.evaluate(COVERED):
        yield "with twice the text the panel covers the page"


def in_trouble(build):
    """A live reading past its stop limit, then made safe: yields the addresses that show each."""
    switch_on(build, build.revision.stages.get(key="valves-in"), PowerOn.Why.AGAIN, by=build.builder, entry_key=uuid4())
    at_reservoir = Check.objects.get(stage__revision=build.revision, key="v-reservoir")
    check = reverse("bench:check", args=[build.pk, "valves-in", "v-reservoir"])
    yield check
    take_reading(build, at_reservoir, "180", by=build.builder)  # may be an overload
    yield check
    take_reading(build, at_reservoir, "470", by=build.builder)
    yield reverse("bench:stop", args=[build.pk])
    MadeSafe.objects.create(build=build, typed="2", volts=2.0, is_safe=True)
    yield from (check, reverse("bench:build", args=[build.pk]), reverse("bench:stage", args=[build.pk, "valves-in"]))


def suits(page, base, places, when="") -> list[str]:
    return [f"{when}{place}: {words}" for place in places for words in complaints(page, base, place)]


@pytest.fixture
def page_of(browser, live_server, bench):
    """The phone of the builder, signed in."""
    page = open_page(browser, viewport=SCREEN)
    sign_in(page, live_server.url, bench[0].builder)
    page.wait_for_url("**/builds/")
    return page


@pytest.mark.parametrize("share", range(SHARES))
def test_every_page_of_a_builder_suits_a_thumb_and_tired_eyes(share, bench, page_of, live_server):
    at_rest = [address for address in addresses(*bench) if LIVE not in address]
    wrong = suits(page_of, live_server.url, at_rest[share::SHARES])
    assert len(at_rest) > 20 and not wrong, f"{len(wrong)} complaints\n" + "\n".join(wrong)


def test_every_page_of_live_work_and_of_trouble_suits_a_thumb_and_tired_eyes(bench, page_of, live_server):
    go_live(bench[0])
    live = [address for address in addresses(*bench) if LIVE in address]
    wrong = suits(page_of, live_server.url, live)
    wrong += suits(page_of, live_server.url, in_trouble(bench[0]), "in trouble, ")
    assert len(live) > 3 and not wrong, f"{len(wrong)} complaints\n" + "\n".join(wrong)
