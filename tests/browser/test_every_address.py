"""The page of every address of the site, as whoever has a right to it: axe, a phone's width, and no complaint.

What links lead to is walked in test_every_page, by day; here no page is left out because nothing on the demo leads
there, and it is night.
"""

import pytest
from django.conf import settings
from django.test import Client

from builds.accounts.models import Person
from tests.access.book import BOOK
from tests.access.calls import CALLS
from tests.access.cast import make_cast
from tests.browser.looking import open_page
from tests.browser.test_every_page import PHONE_BY_NIGHT, complaints
from tests.browser.test_story import cleared_though_frozen  # noqa: F401
from tests.kept_site import kept_site
from tests.test_access import CALLED, address

pytestmark = [
    pytest.mark.browser,
    pytest.mark.appearance,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]
SHARES = 4  # tests that share the addresses: several workers look
ASKED = [name for name in CALLED if CALLS[name].method == "get" and CALLS[name].success == 200]
KEPT = "bench:copy"  # a phone's copy of a build, which `open_page` refuses; tests/offline reads its parts
LEAST = 85  # pages among them; the others are papers, tables, pictures and answers to programs


def pages() -> dict[str, list]:
    """Name of an address -> [the address, whoever asks for it] of each that answers with a page."""
    cast, found = make_cast(), {}
    for name in ASKED:
        client, person, asked = Client(), cast.roles[CALLS[name].role], address(name, cast)
        if person:
            client.force_login(person)
        answer = client.get(asked)
        is_page = not answer.streaming and answer["Content-Type"].startswith("text/html")
        if answer.status_code == 200 and is_page and b"<html" in answer.content and name != KEPT:
            found[name] = [asked, person.pk if person else None]
    return found


@pytest.fixture
def found(live_server, monkeypatch, run_folder):
    for view in ("builds.bench.views.extras", "builds.review.views.decide.faults"):
        monkeypatch.setattr(f"{view}.load_fault_dictionary", lambda revision: BOOK)
    return kept_site(run_folder / "every-address", pages)


def page_of(browser, base, person):
    page = open_page(browser)
    if person:
        client = Client()
        client.force_login(Person.objects.get(pk=person))
        name = settings.SESSION_COOKIE_NAME
        page.context.add_cookies([{"name": name, "value": client.cookies[name].value, "url": base}])
    return page


@pytest.mark.parametrize("share", range(SHARES))
def test_the_page_of_every_address_is_sound(share, found, browser, live_server):
    assert len(found) >= LEAST, sorted(found)
    shared = sorted(found)[share::SHARES]
    people = {found[name][1] for name in shared}
    wrong = []
    for person in people:
        page = page_of(browser, live_server.url, person)
        theirs = [found[name][0] for name in shared if found[name][1] == person]
        wrong += complaints(page, live_server.url, theirs, [PHONE_BY_NIGHT])
        page.context.close()
    assert not wrong, "\n".join(wrong)
