"""Large type and speech, switched on for one device; the voice is a stand-in that writes down what it is to say."""

import pytest
from playwright.sync_api import expect

from tests import factories
from tests.browser.test_first_screen import SCREEN, sign_in
from tests.browser.test_story import PATIENCE, cleared_though_frozen  # noqa: F401
from tests.browser.test_traps import go, open_build, type_reading

pytestmark = [pytest.mark.browser, pytest.mark.appearance, pytest.mark.django_db(transaction=True), pytest.mark.lengthy]
STAND_IN = """
window.said = [];
window.SpeechSynthesisUtterance = function (text) { this.text = text; };
Object.defineProperty(window, "speechSynthesis", {
  value: { cancel() {}, speak(utterance) { window.said.push(utterance.text); } }
});
"""


@pytest.fixture
def phone(browser):
    page = browser.new_context(viewport=SCREEN).new_page()
    page.add_init_script(STAND_IN)
    page.set_default_timeout(PATIENCE)
    return page


def switch_on(phone, live_server, *names):
    phone.goto(live_server.url + "/device/")
    for name in names:
        phone.check(f"[name={name}]")
    phone.click("main form button")
    expect(phone.locator(".notice.success")).to_be_visible()


def test_nothing_is_said_unless_it_is_switched_on(phone, live_server):
    build = open_build(factories.make_revision(stages=1, checks=1, steps=0))
    sign_in(phone, live_server.url, build.builder)
    go(phone, live_server, "check", build, "stage-1", "check-1-1")
    type_reading(phone, "300")
    expect(phone.locator("#verdict .chip").first).to_be_visible()
    assert phone.evaluate("window.said") == [] and phone.locator(".say-again").count() == 0


def test_the_prompt_and_then_the_verdict_are_said_once_each(phone, live_server):
    build = open_build(factories.make_revision(stages=1, checks=2, steps=0))
    sign_in(phone, live_server.url, build.builder)
    switch_on(phone, live_server, "spoken")
    go(phone, live_server, "check", build, "stage-1", "check-1-1")
    (prompt,) = phone.evaluate("window.said")
    assert "Check 1.1" in prompt and "Red" in prompt and "Black" in prompt
    type_reading(phone, "300")
    expect(phone.locator("#verdict .chip").first).to_be_visible()
    phone.wait_for_function("window.said.length > 1")
    said = phone.evaluate("window.said")
    assert len(said) == 2 and "in band" in said[1]
    phone.click(".say-again")
    assert phone.evaluate("window.said.at(-1)") == said[1]


def test_a_stop_is_spoken(phone, live_server):
    build = open_build(factories.make_revision(stages=1, checks=1, steps=0))
    sign_in(phone, live_server.url, build.builder)
    switch_on(phone, live_server, "spoken")
    go(phone, live_server, "check", build, "stage-1", "check-1-1")
    type_reading(phone, "470")
    phone.wait_for_url("**/stop/")
    phone.wait_for_function("window.said.length > 0")
    assert "witch off" in phone.evaluate("window.said[0]").replace("SWITCH OFF", "Switch off")


def test_units_are_said_as_words(phone, live_server):
    build = open_build(factories.make_revision(stages=1, checks=1, steps=0))
    sign_in(phone, live_server.url, build.builder)
    switch_on(phone, live_server, "spoken")
    go(phone, live_server, "check", build, "stage-1", "check-1-1")
    phone.evaluate("document.getElementById('spoken').textContent = '4.7 kΩ, 12 mV and −3 V'")
    phone.wait_for_function("window.said.length > 1")
    assert phone.evaluate("window.said.at(-1)") == "4.7 kilohms, 12 millivolts and minus 3 volts"


def test_large_type_is_large_and_this_devices(phone, live_server, browser):
    build = open_build(factories.make_revision(stages=1, checks=1, steps=0))
    sign_in(phone, live_server.url, build.builder)
    size = "parseFloat(getComputedStyle(document.documentElement).fontSize)"
    go(phone, live_server, "stage", build, "stage-1")
    before = phone.evaluate(size)
    switch_on(phone, live_server, "large_type")
    go(phone, live_server, "stage", build, "stage-1")
    assert phone.evaluate(size) == 1.5 * before
    assert phone.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
    other = browser.new_context(viewport=SCREEN).new_page()
    sign_in(other, live_server.url, build.builder)
    other.wait_for_selector("h1")
    assert other.evaluate(size) == before
