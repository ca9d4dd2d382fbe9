"""A tap is never swallowed by the page loading itself again: not a plain form's, whenever it comes."""

import pytest
from playwright.sync_api import expect

from tests.browser.test_story import cleared_though_frozen  # noqa: F401
from tests.offline.bench import Phone, make_bench

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
NEWS = """async (build) => {
  const store = await import("/static/offline/store.js");
  await store.note("notebook:" + build, { ...(await store.fact("notebook:" + build)), changed: Date.now() });
}"""
TAP_AND_RENEW = """async (button) => {
  const leaving = await import("/static/offline/leaving.js");
  leaving.reload();
  setTimeout(() => document.querySelector(button).click(), 200);
}"""
END = "form[data-asks=end] button"


@pytest.fixture
def bench(browser, live_server):
    build = make_bench()
    phone = Phone(browser, live_server.url, build.builder, service_workers="block")
    phone.open(build)
    yield build, phone
    assert phone.said == []
    phone.context.close()


def hold(phone, pattern, method):
    """Requests of this kind wait until the test lets them go on."""
    held = []

    def keep(route):
        if route.request.method == method:
            held.append(route)
        else:
            route.fallback()

    phone.page.route(pattern, keep)
    return held


def comes(phone, held):
    for _ in range(400):
        if held:
            return held.pop()
        phone.page.wait_for_timeout(50)
    raise AssertionError("it was never asked for")


@pytest.mark.lengthy
@pytest.mark.parametrize("moment", ["before the scripts are here", "before the page knows that it is old"])
def test_a_form_sent_before_an_old_page_renews_itself_is_not_swallowed(bench, moment):
    """Another tab brings news while this page comes; the tap on "End session" is on its way at that moment."""
    build, phone = bench
    what = "**/offline/begin.js" if moment.endswith("here") else "**/offline-words/"
    scripts, posts = hold(phone, what, "GET"), hold(phone, "**/end-sitting/", "POST")
    phone.page.goto(f"{phone.base}/builds/{build.pk}/")
    script = comes(phone, scripts)
    phone.page.evaluate(NEWS, build.pk)
    phone.page.click(END, no_wait_after=True)
    post = comes(phone, posts)
    script.continue_()
    phone.page.wait_for_timeout(500)
    post.continue_()
    expect(phone.page.locator(".notice").first).to_be_visible()
    assert not build.sittings.filter(ended_at=None).exists()


@pytest.mark.lengthy
def test_a_form_sent_while_the_page_renews_itself_comes_first(bench):
    build, phone = bench
    pages = hold(phone, f"**/builds/{build.pk}/", "GET")
    phone.page.evaluate(TAP_AND_RENEW, END)
    page = comes(phone, pages)
    phone.page.wait_for_timeout(500)
    page.continue_()
    expect(phone.page.locator(".notice").first).to_be_visible()
    assert not build.sittings.filter(ended_at=None).exists()
