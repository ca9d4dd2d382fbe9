"""Save pressed where it could be sent twice: before the scripts stand, where nothing is kept, or as the page goes."""

import pytest
from playwright.sync_api import expect

from builds.bench.models import Reading
from tests import factories
from tests.browser.test_story import cleared_though_frozen  # noqa: F401
from tests.offline.bench import READY, Phone, make_bench
from tests.offline.line import SENT, bad_line
from tests.offline.test_cuts import _where
from tests.offline.test_no_storage import DENIED, FULL
from tests.offline.test_no_swallowed_tap import comes, hold

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
PATH, FIELD, VERDICT = "stages/stage-1/checks/check-1-1/", "input.reading", ".verdict .num:visible"
SCRIPTS = "**/offline/begin.js"


@pytest.fixture
def bench(browser, live_server):
    """A phone on a line whose next posts are cut off after the site has saved them."""
    cuts, phones = [], []
    with bad_line(*_where(live_server), lambda: cuts.pop() if cuts else None) as line:

        def begin(script=""):
            build = make_bench()
            phone = Phone(browser, line.address, build.builder, script=script, service_workers="block")
            phones.append(phone)
            return build, phone, cuts

        yield begin
        for phone in phones:
            assert phone.said == []
            phone.context.close()


def saved() -> list[str]:
    return list(Reading.objects.order_by("pk").values_list("typed", flat=True))


def press(phone, typed):
    phone.page.fill(FIELD, typed)
    phone.page.click(".save:visible", no_wait_after=True)


@pytest.mark.lengthy
def test_a_reading_saved_before_the_scripts_are_here_waits_for_them(bench):
    build, phone, cuts = bench()
    scripts = hold(phone, SCRIPTS, "GET")
    phone.page.goto(f"{phone.base}/builds/{build.pk}/{PATH}")
    cuts.append(SENT)
    press(phone, "311")
    expect(phone.page.locator(".save[aria-busy=true]")).to_be_visible()
    comes(phone, scripts).continue_()
    phone.page.unroute_all()
    expect(phone.page.locator(VERDICT).first).to_have_text("311 V")
    phone.until(READY)
    phone.sends_all()
    assert saved() == ["311"] and not cuts


@pytest.mark.lengthy
def test_a_reading_whose_scripts_come_late_goes_without_them_and_is_the_same_when_saved_again(bench):
    build, phone, cuts = bench()
    scripts = hold(phone, SCRIPTS, "GET")
    phone.page.goto(f"{phone.base}/builds/{build.pk}/{PATH}")
    cuts.append(SENT)
    press(phone, "311")
    expect(phone.page.locator(".not-sent")).to_be_visible(timeout=20000)
    assert saved() == ["311"] and phone.page.input_value(FIELD) == "311"
    comes(phone, scripts).continue_()
    phone.until(READY)
    phone.page.click(".save:visible")
    expect(phone.page.locator("#verdict .chip").first).to_be_visible()
    assert saved() == ["311"]


@pytest.mark.lengthy
@pytest.mark.parametrize("script", [DENIED, f"({FULL})()"], ids=["denied", "full"])
def test_a_reading_that_cannot_be_kept_is_the_same_when_saved_again(bench, script):
    build, phone, cuts = bench(script)
    phone.open(build, PATH)
    cuts.append(SENT)
    press(phone, "311")
    expect(phone.page.locator(".not-sent")).to_contain_text("Not sent")
    assert saved() == ["311"]
    phone.page.click(".save:visible")
    expect(phone.page.locator("#verdict .chip").first).to_be_visible()
    assert saved() == ["311"]


@pytest.mark.lengthy
def test_another_reading_in_the_place_of_one_that_could_not_be_kept_is_added(bench):
    build, phone, cuts = bench(DENIED)
    phone.open(build, PATH)
    cuts.append(SENT)
    press(phone, "251")
    expect(phone.page.locator(".not-sent")).to_contain_text("Not sent")
    press(phone, "311")
    expect(phone.page.locator("main")).to_contain_text("saved 251")
    phone.page.click(".save:visible")
    expect(phone.page.locator("#verdict .num").first).to_contain_text("311")
    assert saved() == ["251", "311"]


@pytest.mark.lengthy
def test_what_was_kept_as_the_page_went_is_no_draft_any_more(bench):
    build, phone, _cuts = bench()
    phone.read(build, "check-1-1", "251")
    phone.open(build, PATH + "?measure=1")
    posts = hold(phone, "**/check-1-1/**", "POST")
    press(phone, "311")
    comes(phone, posts)
    phone.page.unroute_all()
    phone.open(build, PATH)
    phone.sends_all()
    phone.open(build, PATH + "?measure=1")
    assert saved() == ["251", "311"] and phone.page.input_value(FIELD) == ""


@pytest.mark.lengthy
def test_a_page_to_measure_again_that_reloads_as_its_reading_is_kept_shows_the_reading(bench):
    build, phone, _cuts = bench()
    phone.read(build, "check-1-1", "251")
    phone.open(build, PATH + "?measure=1")
    again = phone.page.url
    phone.cut()
    press(phone, "311")
    expect(phone.page.locator(".verdict.kept .num")).to_have_text("311 V")
    phone.cut(False)
    phone.page.evaluate("again => { history.replaceState(null, '', again); location.reload(); }", again)
    expect(phone.page.locator(VERDICT).first).to_contain_text("311")
    phone.until(READY)
    assert "measure" not in phone.page.url and saved() == ["251", "311"]


@pytest.mark.lengthy
@pytest.mark.parametrize("typed", ["311", "455"])
def test_a_build_that_was_handed_over_meanwhile_says_so_and_a_stop_is_a_stop(bench, typed):
    build, phone, _cuts = bench()
    phone.open(build, PATH)
    phone.until(f"import('/static/offline/store.js').then((s) => s.fact('notebook:{build.pk}')).then(Boolean)")
    type(build).objects.filter(pk=build.pk).update(builder=factories.make_builder())
    press(phone, typed)
    if typed == "455":
        expect(phone.page.locator(".stop-word")).to_contain_text("Switch off now")
        assert [entry["state"] for entry in phone.kept()] == ["asks"]
    else:
        expect(phone.page.locator(".not-sent")).to_contain_text("the site refused it")
        assert phone.page.input_value(FIELD) == "311"
    assert saved() == []
