"""Signing out at the bench: without a connection nobody is signed out, and the guide stays at hand."""

import pytest
from playwright.sync_api import expect

from builds.accounts import devices
from tests.browser.test_story import cleared_though_frozen  # noqa: F401
from tests.offline.bench import READY
from tests.offline.test_dangers import at_the_bench  # noqa: F401

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
PRESS = "document.querySelector('form[data-asks=sign-out]').requestSubmit()"
AT_HAND = "caches.keys().then((all) => all.filter((name) => name.startsWith('copy-')).length)"


@pytest.mark.lengthy
def test_a_sign_out_that_cannot_be_sent_takes_no_guide_away(at_the_bench):  # noqa: F811
    build, phone = at_the_bench(live=True)
    page = phone.page
    phone.cut()
    page.evaluate(PRESS)
    expect(page.locator("form[data-asks=sign-out] .not-sent")).to_contain_text("still signed in")
    phone.open(build, "make-safe/")
    expect(page.locator("main form input.reading")).to_be_visible()
    phone.cut(False)
    phone.open(build)
    assert page.evaluate(AT_HAND) == 1
    page.evaluate(PRESS)
    page.wait_for_url("**/sign-in/**")
    phone.until(READY)
    phone.until(f"{AT_HAND}.then((count) => count === 0)")


@pytest.mark.lengthy
def test_a_phone_signed_out_from_elsewhere_forgets_the_guide(at_the_bench):  # noqa: F811
    build, phone = at_the_bench(live=True)
    page = phone.page
    phone.open(build)
    phone.until(f"{AT_HAND}.then((count) => count === 1)")
    devices.sign_out_all(build.builder)
    page.reload()
    page.wait_for_url("**/sign-in/**")
    phone.until(f"{AT_HAND}.then((count) => count === 0)")
    assert "signed-out" not in page.evaluate("document.cookie")
