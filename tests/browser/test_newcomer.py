"""A person who has never seen this, on a phone: led from the invitation to sign-off by what each page puts first.

Whatever the page leads to has to be in the first screen, unless it is a step of the stage that the pointer scrolls to.
"""

from pathlib import Path
from urllib.parse import urlparse

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from builds.accounts.models import Invitation
from builds.bench.models import Build, MadeSafe, Photo, Reading
from builds.guides.guide_file import read_guide, store_guide
from tests import factories
from tests.browser.test_first_screen import SCREEN
from tests.browser.test_story import (
    PATIENCE,
    READY,
    accessible,
    cleared_though_frozen,  # noqa: F401
    photo,  # noqa: F401
    press,
)

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
SHOWN = {"earth-bond": ("0.1", "Ω"), "heaters": ("6.35", ""), "reservoir": ("318", "")}
MOST = 40  # pages from the invitation to sign-off
ON_SCREEN = """(element) => { const box = element.getBoundingClientRect(), bar = document.querySelector(".thumb");
  return box.top >= 0 && box.bottom <= (bar ? bar.getBoundingClientRect().top : innerHeight) + 1; }"""

SETTLED = """() => new Promise((go) =>
  setTimeout(go, Number(document.body.dataset.swapped || 0) + 700 - Date.now()))"""


class Newcomer:
    def __init__(self, page, picture):
        self.page, self.picture, self.seen = page, picture, []

    def start(self, link):
        self.page.goto(link)
        accessible(self.page)
        for name in ("password", "password_again"):
            self.page.fill(f"[name={name}]", factories.PASSWORD)
        self.page.fill("[name=display_name]", "Builder 31")
        self.page.check("[name=read_cautions]")
        press(self.page, "main button.big")

    def go_on(self):
        """Do the one thing that the page puts first."""
        self.page.wait_for_selector(READY)
        self.seen.append(urlparse(self.page.url).path)
        acts = {
            "[name=read]": self.confirm,
            ".reading-panel input.reading": self.read,
            "form[data-outbox=made-safe]": self.make_safe,
            ".verdict-actions .button.big": self.follow,
            "#next a": self.next_up,
            "a.next": self.follow,
            "form[action$='/finish/'] button": self.follow,
        }
        for selector, act in acts.items():
            if self.page.locator(selector).count():
                act(selector)
                return
        raise AssertionError(f"nothing to do at {self.page.url}: {self.page.inner_text('main')[:600]}")

    def in_sight(self, selector):
        assert self.page.locator(selector).first.evaluate(ON_SCREEN), f"{selector} out of sight at {self.page.url}"

    def follow(self, selector):
        self.in_sight(selector)
        self.page.evaluate(SETTLED)  # a button that has just appeared takes no tap for a moment (bench.js)
        press(self.page, selector)

    def confirm(self, box):
        if self.page.locator("[name=mains]").count():
            self.page.fill("[name=mains]", "230")
        self.page.check(box)
        press(self.page, "main form button.big")

    def read(self, field):
        key = self.page.locator("article.check").get_attribute("data-check").rpartition("/")[2]
        typed, unit = SHOWN[key]
        self.in_sight(field)
        self.page.fill(field, typed)
        if unit:
            self.page.check(f"[name=unit][value={unit}]")
        self.in_sight(".save")
        self.page.click(".save")
        expect(self.page.locator("#verdict .chip").first).to_contain_text("in band")
        self.in_sight("#verdict .verdict-word")

    def make_safe(self, _form):
        self.page.fill("input.reading", "2.4")
        self.page.click("main form button.big")
        expect(self.page.locator(".notice").first).to_contain_text("Made safe")

    def next_up(self, pointer):
        self.in_sight(pointer)
        line = self.page.locator("#next").get_attribute("data-line")
        if not line:
            self.follow(pointer)
            return
        self.page.click(pointer)
        self.work_on(self.page.locator(f"#{line}"), line)

    def work_on(self, step, line):
        if step.locator(".step-photo label strong").count():  # a photo is required here
            step.locator("input[type=file]").set_input_files(self.picture)
            step.locator(".step-photo button:visible").last.click()
            expect(self.page.locator(f"#{line} .photos img")).to_be_visible()
        else:
            step.locator(".tickbox").click()
            expect(self.page.locator(f"#{line}.is-ticked")).to_be_attached()


def invited(designer) -> tuple[Build, str]:
    guide = (Path(__file__).parent / "small-guide.toml").read_bytes()
    revision = store_guide(read_guide(guide, "guide.toml"), designer)
    revision.state, revision.issued_at = "issued", timezone.now()
    revision.save()
    invitation, token = Invitation.make(Invitation.Purpose.BUILD, made_by=designer)
    build = Build.objects.create(
        revision=revision, serial="N-1", invitation=invitation, mains_volts=230.0, mains_hertz=50
    )
    return build, reverse("accounts:invitation", args=[token])


@pytest.mark.lengthy
def test_a_newcomer_is_led_from_the_invitation_to_sign_off(browser, live_server, photo):  # noqa: F811
    build, link = invited(factories.make_designer())
    page = browser.new_context(viewport=SCREEN).new_page()
    page.set_default_timeout(PATIENCE)
    newcomer = Newcomer(page, photo)
    newcomer.start(live_server.url + link)
    for _ in range(MOST):
        newcomer.go_on()
        if Build.objects.get(pk=build.pk).finished_at:
            break
    build.refresh_from_db()
    assert build.finished_at, newcomer.seen
    assert sorted(Reading.objects.values_list("outcome", flat=True)) == ["in band"] * 3
    assert Photo.objects.count() == 1
    assert not MadeSafe.objects.exists() or MadeSafe.objects.filter(is_safe=True).exists()
