"""Every form of a builder's that no outbox keeps, over a bad line: what was typed comes back, and counts once.

Readings, ticks, photos, snags and worksheets have an outbox and stories of their own (test_cuts, test_dangers).
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from django.contrib.sessions.models import Session
from playwright.sync_api import expect

from builds.accounts.models import Invitation, Meter, Person
from builds.bench.models import Build, FittedValve, MeterCheck, PartFound, Sitting
from builds.notifications.models import Preference
from tests import factories
from tests.browser.test_story import cleared_though_frozen  # noqa: F401
from tests.browser.test_traps import issue
from tests.factories import PASSWORD
from tests.offline.bench import READY, Phone
from tests.offline.line import BEFORE, SENT, bad_line

TEMPLATES = Path(__file__).resolve().parents[2] / "templates"
PARTS = (
    {"ref": "R1", "kind": "resistor", "value": "10k", "tolerance": "5%", "detail": {"joins": ["a", "chassis"]}},
    {"ref": "V1", "kind": "triode", "value": "ECC83", "detail": {"type": "ECC83"}},
    {"ref": "TR1", "kind": "test resistor", "value": "10k", "tolerance": "1%"},
)
STOP_AT_NOTHING = 9  # a browser tries a post again by itself when its connection breaks


@dataclass(frozen=True)
class Form:
    """`path` below the build, or of the site; what is typed, and what else is filled in each time, since it is never
    kept; how often what was typed is on record."""

    path: str
    typed: dict[str, str]
    count: Callable[[], int]
    again: tuple[tuple[str, str], ...] = ()
    is_for_strangers: bool = False


def _meters():
    return Meter.objects.filter(name="Bench meter 3").count()


PASSWORDS = (("password", PASSWORD), ("password_again", PASSWORD), ("read_cautions", "yes"))
WALKED = {
    "accounts/meters.html": Form("/meters/", {"name": "Bench meter 3"}, _meters),
    "accounts/form.html": Form(
        "/account/address/",
        {"email": "seven@example.org"},
        lambda: Person.objects.filter(email="seven@example.org").count(),
        again=(("old_password", PASSWORD),),
    ),
    "accounts/preferences.html": Form(
        "/settings/",
        {"time_zone": "Europe/Berlin"},
        lambda: Person.objects.filter(time_zone="Europe/Berlin").count(),
    ),
    "accounts/invitation.html": Form(
        "/invitation/{token}/",
        {"display_name": "Builder 71", "name": "Bench meter 3"},
        _meters,
        again=PASSWORDS,
        is_for_strangers=True,
    ),
    "notifications/mail.html": Form(
        "/mail/", {"when": "never"}, lambda: Preference.objects.filter(when="never").count()
    ),
    "bench/valves.html": Form(
        "valves/", {"make": "Northmill", "code": "K4"}, lambda: FittedValve.objects.filter(code="K4").count()
    ),
    "bench/_meter_piece.html": Form("meter-check/", {"TR1-typed": "10.02k"}, MeterCheck.objects.count),
    "bench/cautions.html": Form(
        "stages/stage-2/cautions/",
        {"mains": "231"},
        lambda: Sitting.objects.filter(mains_volts=231).count(),
        again=(("read", "yes"),),
    ),
    "bench/build.html": Form("", {"mains_hertz": "60"}, lambda: Build.objects.filter(mains_hertz=60).count()),
    "bench/parts.html": Form("parts/", {"found": "yes"}, PartFound.objects.count),
}
# Nothing but secrets is typed, or nothing at all; or the form is that of a neighbour above, on another page.
OTHERS = {
    "accounts/_unconfirmed.html": "a button",
    "accounts/account.html": "buttons",
    "accounts/aids.html": "two boxes of this device",
    "accounts/close.html": "a password",
    "accounts/code.html": "a code",
    "accounts/confirm-address.html": "a button",
    "accounts/forgotten.html": "an address; never says whether it was known",
    "accounts/new-password.html": "passwords",
    "accounts/second-factor.html": "a code",
    "accounts/sign-in.html": "a password",
    "bench/_build_news.html": "a button",
    "bench/_build_next.html": "a button",
    "bench/_lock.html": "buttons",
    "bench/_not_saved.html": "a reading that is sent again as it was",
    "bench/_signal.html": "a recording, a file",
    "bench/_swaps.html": "a button",
    "bench/errata.html": "a button",
    "bench/extra.html": "as the meter check",
    "bench/loopback.html": "a recording, a file",
    "bench/move.html": "buttons",
    "bench/own-photo.html": "a button",
    "bench/snag.html": "test_plain_forms.py",
    "notifications/stop.html": "a button",
}


def plain_forms() -> set[str]:
    """Templates of a builder's pages with a form that no outbox keeps."""
    result = set()
    for folder in ("accounts", "bench", "notifications"):
        for path in (TEMPLATES / folder).rglob("*.html"):
            for form in re.findall(r'<form\s+method="post".*?>\n', path.read_text(), re.S):
                if "data-outbox" not in form and "data-asks" not in form:
                    result.add(str(path.relative_to(TEMPLATES)))
    return result


def test_no_form_of_a_builder_is_left_out():
    assert plain_forms() == WALKED.keys() | OTHERS.keys()


@pytest.fixture
def line(live_server):
    where = live_server.url.removeprefix("http://").split(":")
    cuts: list = []
    with bad_line(where[0], int(where[1]), lambda: cuts.pop(0) if cuts else None) as line:
        line.next = cuts
        yield line


class Walk:
    def __init__(self, browser, line, form):
        self.form, self.line = form, line
        revision = issue(factories.make_revision(parts=PARTS, gate=False, issued=False))
        self.build = factories.make_build(revision=revision)
        path = form.path if form.path.startswith("/") else f"/builds/{self.build.pk}/{form.path}"
        if form.is_for_strangers:
            made, token = Invitation.make(Invitation.Purpose.BUILD)
            Build.objects.filter(pk=self.build.pk).update(invitation=made, builder=None, meter=None)
            path = path.format(token=token)
        self.path = path
        self.phone = Phone(browser, line.address, None if form.is_for_strangers else self.build.builder)
        self.page = self.phone.page

    def field(self, name):
        return self.page.locator(f"main [name={name}]").first

    def form_of(self):
        return self.page.locator(f"main form[method=post]:has([name={next(iter(self.form.typed))}])")

    def put(self, pairs):
        self.page.evaluate("document.querySelectorAll('main details').forEach((fold) => { fold.open = true; })")
        for name, value in pairs:
            field = self.field(name)
            kind = field.evaluate("(field) => field.type")
            if kind == "checkbox":
                field.check()
            elif kind == "radio":
                self.page.check(f"main [name={name}][value={value}]")
            elif kind == "select-one":
                field.select_option(value)
            else:
                field.fill(value)

    def open(self):
        self.phone.go(self.path)

    def send(self):
        self.put(self.form.again)
        self.form_of().locator("button:not([type=button])").last.click()

    def shows(self):
        for name, value in self.form.typed.items():
            field = self.field(name)
            kind = field.evaluate("(field) => field.type")
            if kind == "checkbox":
                expect(field).to_be_checked()
            elif kind == "radio":
                expect(self.page.locator(f"main [name={name}][value={value}]")).to_be_checked()
            else:
                expect(field).to_have_value(value)

    def left(self):
        """Wait until the page of the form has gone."""
        expect(self.page.locator("body[data-old]")).to_have_count(0)

    def fails(self, fate):
        self.page.evaluate("document.body.dataset.old = 'yes'")
        self.line.next.extend([fate] * STOP_AT_NOTHING)
        self.send()
        self.left()
        self.line.next.clear()
        self.open()

    def signs_in_again(self):
        Session.objects.all().delete()
        self.send()
        self.page.click("main form .not-sent a")
        self.page.fill("[name=username]", self.build.builder.display_name)
        self.page.fill("[name=password]", PASSWORD)
        self.page.click("main button")
        expect(self.page.locator(".draft-note")).to_be_visible()
        self.phone.until(READY)


@pytest.mark.browser
@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("name", WALKED)
def test_a_form_over_a_bad_line_gives_back_what_was_typed_and_counts_once(browser, line, name):
    walk = Walk(browser, line, WALKED[name])
    walk.open()
    walk.put(walk.form.typed.items())
    walk.phone.cut()
    walk.send()
    expect(walk.page.locator("main form .not-sent")).to_be_visible()
    walk.shows()
    walk.phone.cut(False)
    for fate in (403, 502, BEFORE):
        walk.fails(fate)
        walk.shows()
    if not walk.form.is_for_strangers:
        walk.signs_in_again()
        walk.shows()
    assert walk.form.count() == 0
    walk.fails(SENT)
    assert walk.form.count() == 1
    # Else the page that was opened again says that it is done, or asks for a reason to do it again.
    if walk.form_of().count() and walk.form_of().evaluate("(form) => form.checkValidity()"):
        walk.page.evaluate("document.body.dataset.old = 'yes'")
        walk.send()
        walk.left()
    walk.phone.until(READY)
    assert walk.form.count() == 1
    assert PASSWORD not in walk.page.evaluate("JSON.stringify(localStorage)")
    assert walk.phone.said == []
    walk.phone.context.close()
