"""A builder at a bench without a signal: everything made is kept, judged, shown and sent, once."""

import pytest
from playwright.sync_api import expect

from builds.bench.models import Reading, Tick
from tests.browser.test_story import cleared_though_frozen  # noqa: F401
from tests.offline.bench import Phone, make_bench

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def bench(browser, live_server):
    build = make_bench()
    phone = Phone(browser, live_server.url, build.builder)
    phone.open(build)
    phone.ready(build)
    yield build, phone
    assert phone.said == []
    phone.context.close()


def test_a_reading_made_without_a_connection_is_judged_kept_and_sent(bench):
    build, phone = bench
    phone.open(build, "stages/stage-1/checks/check-1-1/")
    phone.cut()
    phone.page.fill("input.reading", "311")
    phone.page.click(".save")
    box = phone.page.locator(".verdict.kept")
    expect(box).to_contain_text("in band")
    expect(box).to_contain_text("Judged on this phone")
    expect(phone.page.locator("#offline-bar")).to_contain_text("Not sent yet: 1")
    assert [(e["kind"], e["typed"], e["code"]) for e in phone.kept()] == [("reading", "311", "i")]
    phone.page.reload()  # the site does not answer: the copy is shown, and the entry is still there
    expect(phone.page.locator(".verdict.kept")).to_contain_text("in band")
    phone.cut(False)
    phone.sends_all()
    expect(phone.page.locator("#verdict .chip").first).to_contain_text("in band")
    assert [r.typed for r in Reading.objects.all()] == ["311"]


def test_a_tick_made_without_a_connection_is_kept_and_sent(bench):
    build, phone = bench
    phone.open(build, "stages/stage-1/")
    phone.cut()
    phone.page.locator(".tickbox").first.click()
    expect(phone.page.locator(".tickbox").first).to_have_attribute("aria-pressed", "true")
    phone.page.reload()
    expect(phone.page.locator(".tickbox").first).to_have_attribute("aria-pressed", "true")
    assert not Tick.objects.exists()
    phone.cut(False)
    phone.sends_all()
    assert Tick.objects.count() == 1
