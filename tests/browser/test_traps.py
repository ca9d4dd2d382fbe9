"""Traps that a builder on a phone can step into, tried with a finger: each would end in a wrong pass or a hand in a
live kit."""

import re

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.bench.models import Build, MadeSafe, Reading, Tick
from builds.guides.models import Check, Revision
from tests import factories
from tests.browser.test_first_screen import SCREEN, sign_in
from tests.browser.test_story import PATIENCE, READY, cleared_though_frozen  # noqa: F401

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def issue(revision) -> Revision:
    Revision.objects.filter(pk=revision.pk).update(state="issued", issued_at=timezone.now())
    return Revision.objects.get(pk=revision.pk)


def open_build(revision):
    build = factories.make_build(revision=revision)
    for stage in revision.stages.all():
        acknowledge(open_sitting(build), stage, 230.0 if stage.is_powered else None)
    return build


def one_check(**fields):
    """A build of a guide with one unpowered stage of one check."""
    revision = factories.make_revision(stages=1, checks=1, steps=0, gate=False, issued=False)
    Check.objects.filter(stage__revision=revision).update(stop_above="", band="", expected="", **fields)
    return open_build(issue(revision))


@pytest.fixture
def phone(browser):
    page = browser.new_context(viewport=SCREEN).new_page()
    page.set_default_timeout(PATIENCE)
    return page


def go(phone, live_server, name, build, *more):
    phone.goto(live_server.url + reverse(f"bench:{name}", args=[build.pk, *more]))
    phone.wait_for_selector(READY)


def type_reading(phone, typed, unit=""):
    phone.fill("input.reading", typed)
    phone.wait_for_selector(READY)
    if unit:
        phone.check(f"[name=unit][value={unit}]")
    phone.click(".save")


@pytest.mark.lengthy
def test_valves_go_in_only_after_a_made_safe_reading(phone, live_server):
    revision = factories.make_revision(stages=2, checks=1, steps=2, gate=False, issued=False)
    powered = revision.stages.get(key="stage-2")
    powered.steps.filter(key="step-2-2").update(hands_in=True, place=2)
    powered.steps.filter(key="step-2-1").update(place=0)
    powered.checks.update(place=1)
    build = open_build(issue(revision))
    sign_in(phone, live_server.url, build.builder)
    go(phone, live_server, "stage", build, "stage-2")
    phone.click("#step-step-2-1 .tickbox")
    expect(phone.locator("#next a")).to_have_attribute(
        "href", reverse("bench:check", args=[build.pk, "stage-2", "check-2-1"])
    )  # the pointer follows the tick
    phone.click("#next a")
    type_reading(phone, "316")
    phone.wait_for_selector("#verdict .button.big")
    phone.wait_for_timeout(700)  # the way on takes no tap meant for the button before it
    phone.click("#verdict .button.big")
    phone.wait_for_url("**/make-safe/**")  # the next step puts hands in: the way leads through making safe
    go(phone, live_server, "stage", build, "stage-2")
    assert phone.locator("#step-step-2-2 .tickbox").count() == 0
    phone.click("#step-step-2-2 .lock .button")
    phone.fill("input.reading", "2.4")
    phone.wait_for_selector(READY)
    phone.click("main form button.big")
    phone.wait_for_url("**/stage-2/#step-step-2-2")
    phone.wait_for_selector(READY)
    phone.click("#step-step-2-2 .tickbox")
    expect(phone.locator("#step-step-2-2")).to_have_class(re.compile("is-ticked"))
    assert Tick.objects.filter(step__key="step-2-2").exists() and MadeSafe.objects.get().volts == 2.4


@pytest.mark.lengthy
def test_a_lower_case_m_is_never_milliohms_at_the_earth_bond(phone, live_server):
    build = one_check(measure="continuity", at_most="0.5R")
    sign_in(phone, live_server.url, build.builder)
    for unit in ("", "MΩ"):
        go(phone, live_server, "check", build, "stage-1", "check-1-1")
        type_reading(phone, "1m", unit)
        expect(phone.locator(".error").first).to_be_visible()
        assert phone.locator("input.reading").input_value() == "1m"  # nothing typed is lost
    assert not Reading.objects.exists()


@pytest.mark.lengthy
def test_volts_on_a_grid_are_not_turned_into_millivolts(phone, live_server):
    """1.8 V at a grid is a leaking coupling capacitor; millivolts would pass."""
    build = one_check(measure="dc volts", low="-500 mV", high="300 mV")
    sign_in(phone, live_server.url, build.builder)
    go(phone, live_server, "check", build, "stage-1", "check-1-1")
    type_reading(phone, "1.8", "V")
    expect(phone.locator("#verdict .chip").first).to_contain_text("out of band")
    assert phone.locator(".ask").count() == 0 and Reading.objects.get().value == 1.8


@pytest.mark.lengthy
def test_the_verdict_replaces_the_field_is_spoken_once_and_focus_waits_on_the_way_on(phone, live_server):
    build = open_build(factories.make_revision(stages=1, checks=2, steps=0))
    sign_in(phone, live_server.url, build.builder)
    go(phone, live_server, "check", build, "stage-1", "check-1-1")
    region = phone.locator("#spoken").element_handle()
    assert phone.locator("#verdict").count() == 0 and region.text_content().strip() == ""
    type_reading(phone, "300")
    expect(phone.locator("#verdict .chip").first).to_contain_text("in band")
    assert phone.locator("input.reading").count() == 0
    assert region.evaluate("e => e.isConnected && e.textContent.includes('in band')")  # the region that was there
    assert phone.locator("[role=status], [aria-live]").count() == 1
    assert phone.evaluate("document.activeElement.closest('#verdict') !== null")
    phone.wait_for_timeout(700)
    phone.keyboard.press("Enter")
    phone.wait_for_url("**/checks/check-1-2/")
    assert phone.locator("#verdict").count() == 0 and phone.locator("input.reading").count() == 1


@pytest.mark.lengthy
def test_a_reading_that_is_not_sent_says_so_and_is_kept(phone, live_server):
    build = open_build(factories.make_revision(stages=1, checks=1, steps=0))
    sign_in(phone, live_server.url, build.builder)
    go(phone, live_server, "check", build, "stage-1", "check-1-1")
    phone.context.set_offline(True)
    type_reading(phone, "311")
    expect(phone.locator(".verdict.kept")).to_contain_text("311")
    expect(phone.locator("#offline-bar")).to_contain_text("Not sent yet: 1")
    phone.context.set_offline(False)
    expect(phone.locator("#verdict .chip").first).to_contain_text("in band")
    assert Reading.objects.count() == 1


@pytest.mark.lengthy
def test_a_reading_refused_meanwhile_is_shown_and_not_lost(phone, live_server):
    """Signed off on another phone while this one had the page open: the answer takes the page over."""
    build = open_build(factories.make_revision(stages=1, checks=1, steps=0))
    sign_in(phone, live_server.url, build.builder)
    go(phone, live_server, "check", build, "stage-1", "check-1-1")
    Build.objects.filter(pk=build.pk).update(finished_at=timezone.now())
    type_reading(phone, "311")
    expect(phone.locator("#main .notice.warn")).to_contain_text("311")
    assert not Reading.objects.exists() and phone.locator("#main").count() == 1


@pytest.mark.lengthy
def test_two_tabs_on_one_check_keep_both_attempts(phone, live_server):
    """What is typed in the second tab while the first is sent stays there and is another attempt: none is lost."""
    build = open_build(factories.make_revision(stages=1, checks=1, steps=0))
    sign_in(phone, live_server.url, build.builder)
    other = phone.context.new_page()
    other.set_default_timeout(PATIENCE)
    for tab in (phone, other):
        go(tab, live_server, "check", build, "stage-1", "check-1-1")
    other.fill("input.reading", "355.0")
    type_reading(phone, "310.0")
    expect(phone.locator("#verdict .chip").first).to_contain_text("in band")
    other.click(".save")
    expect(other.locator("#verdict .chip").first).to_contain_text("out of band")
    assert list(Reading.objects.order_by("attempt").values_list("attempt", "typed")) == [(1, "310.0"), (2, "355.0")]
    assert not build.statuses.get().passed
