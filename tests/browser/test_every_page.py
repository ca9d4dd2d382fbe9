"""Every kind of page of the demo, as each role: axe, a phone's width, and no complaint from the browser."""

import re
from urllib.parse import urljoin

import pytest
from django.test import Client
from django.urls import Resolver404, resolve

from builds.accounts.models import Person
from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.bench.models import MadeSafe
from builds.bench.readings.taking import take_reading
from builds.guides.models import Check, Revision
from builds.guides.revisions import clone
from builds.jobs.registry import FUNCTIONS
from builds.review import demo
from builds.review.demo import KIND as SECOND_KIT
from builds.review.demo import other_core
from tests.browser.looking import BROKEN, FITS, open_page, violations
from tests.browser.test_story import cleared_though_frozen  # noqa: F401
from tests.kept_site import kept_site

pytestmark = [
    pytest.mark.browser,
    pytest.mark.appearance,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]
PASSWORD = "every page 41"
SAMPLES = 300  # enough figures for pages to be looked at; the figures themselves are tested elsewhere
MOST = 700  # links followed, far more than the demo has kinds of page
LINK = re.compile(r'href="([^"#]+)"')
NOBODY = ""  # is signed in
LEAST = {"Designer": 46, "Builder 07": 11, "Builder 09": 5, NOBODY: 5}  # kinds of page that each meets
PARTS = {"Designer": 4, "Builder 07": 1, "Builder 09": 1, NOBODY: 1}  # tests that share them: several workers look
PHONE_BY_DAY = ({"width": 360, "height": 760}, "light")
PHONE_BY_NIGHT = ({"width": 360, "height": 760}, "dark")
DESK_BY_NIGHT = ({"width": 1280, "height": 900}, "dark")
# A builder's pages are seen on a phone, by day and by night, in test_builder_pages.
VIEWS = {who: (DESK_BY_NIGHT,) if who.startswith("Builder") else (PHONE_BY_DAY, DESK_BY_NIGHT) for who in LEAST}


def kinds_of_page(client: Client, starts: list[str]) -> dict[str, str]:
    """Kind of page -> the first address of that kind found by following links from `starts`. HTML only: what is no
    page, such as a table or a paper, is asked for once a kind."""
    found, downloads, seen, waiting = {}, set(), set(), list(starts)
    while waiting and len(seen) < MOST:
        address = waiting.pop(0)
        if address in seen or (route(address) in found.keys() | downloads and address not in starts):
            continue
        seen.add(address)
        answer = client.get(address, follow=True)
        if answer.redirect_chain:
            address = answer.redirect_chain[-1][0]
        is_page = answer["Content-Type"].startswith("text/html") and not answer.streaming  # streams are downloads
        if answer.status_code == 200 and not is_page and not answer.redirect_chain:
            downloads.add(route(address))
        if answer.status_code != 200 or not is_page or not route(address):
            continue
        found[route(address)] = address
        links = [urljoin(address, link.replace("&amp;", "&")) for link in LINK.findall(answer.content.decode())]
        waiting += [link for link in links if link.startswith("/") and route(link)]
    return found


def route(address: str) -> str:
    """The name of the page at an address, and of what kind of row; empty for static files."""
    try:
        match = resolve(address.split("?")[0])
        return f"{match.view_name} {match.kwargs.get('kind', '')}".strip()
    except Resolver404:
        return ""


def signed_in(browser, base, name):
    page = open_page(browser)
    if name:
        page.goto(base + "/sign-in/")
        page.fill("[name=username]", name)
        page.fill("[name=password]", PASSWORD)
        with page.expect_navigation():
            page.click("main button")
    return page


def complaints(page, base, addresses, views):
    """Yield what is wrong with each page, loaded once and looked at in each view."""
    said = []
    page.on("console", lambda message: said.append(message.text) if message.type == "error" else None)
    page.on("pageerror", lambda error: said.append(str(error)))
    for address in addresses:
        said.clear()
        page.goto(base + address)
        for size, _scheme in views:
            page.set_viewport_size(size)
            if not page.evaluate(FITS):
                said.append(f"wider than the window at {size['width']}")
            said += [f"“{word}” is broken in two at {size['width']}" for word in page.evaluate(BROKEN)]
        for size, scheme in views:  # axe last: it cuts long tables short
            page.set_viewport_size(size)
            page.emulate_media(color_scheme=scheme)
            said += [f"{words} at {size['width']}" for words in violations(page)]
        yield from (f"{address}: {words}" for words in said if "Failed to load resource" not in words)


def busy_demo(monkeypatch):
    """The demo's first kit, a draft to edit, a builder in the middle of everything, and one whose last reading said
    switch off. The second kit has no kind of page that the first one lacks."""
    monkeypatch.setitem(FUNCTIONS, SECOND_KIT, lambda report, kit: kit)
    monkeypatch.setattr(other_core, "FIGURE_SAMPLES", SAMPLES)
    demo.load_demo(PASSWORD, PASSWORD)
    revision = Revision.objects.get(kit__key="five-watt", letter="A")
    clone(revision)
    for name in ("Builder 07", "Builder 09"):
        person = Person.objects.get(display_name=name)
        person.set_password(PASSWORD)
        person.save()
        build = person.builds.get()
        sitting = open_sitting(build)
        for stage in revision.stages.all():
            acknowledge(sitting, stage, 231.0 if stage.is_powered else None)
    MadeSafe.objects.create(
        build=Person.objects.get(display_name="Builder 07").builds.get(), typed="3", volts=3, is_safe=True
    )
    check = Check.objects.get(stage__revision=revision, key="v-reservoir")
    take_reading(build, check, "470", by=person)


def draft() -> str:
    """The address of the draft that `busy_demo` cloned: the only revision with an editor."""
    return f"/kits/five-watt/{Revision.objects.get(kit__key='five-watt', issued_at=None).letter}/"


def addresses(who) -> dict[str, str]:
    """Kind of page -> the address of one that this person meets."""
    client = Client()
    if who:
        client.force_login(Person.objects.get(display_name=who), backend="django.contrib.auth.backends.ModelBackend")
    if who == NOBODY:
        return kinds_of_page(client, ["/sign-in/"]) | {"nothing": "/no-such-page/", "refused": "/kits/five-watt/A/"}
    return kinds_of_page(client, ["/", draft()] if who == "Designer" else ["/"])


@pytest.fixture
def found(live_server, monkeypatch, run_folder) -> dict[str, list[str]]:
    """Who -> the pages of the demo that they meet. The demo is played, and its links are followed, once a run."""

    def make():
        busy_demo(monkeypatch)
        return {who: list(addresses(who).values()) for who in LEAST}

    return kept_site(run_folder / "every-page", make)


@pytest.mark.parametrize(("who", "share", "of"), [(who, n, of) for who, of in PARTS.items() for n in range(of)])
def test_every_kind_of_page_is_sound(who, share, of, found, browser, live_server):
    assert len(found[who]) >= LEAST[who], found[who]
    page = signed_in(browser, live_server.url, who)
    wrong = list(complaints(page, live_server.url, found[who][share::of], VIEWS[who]))
    assert not wrong, "\n".join(wrong)
