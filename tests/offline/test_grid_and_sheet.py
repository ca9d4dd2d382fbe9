"""The table of a stage, the fast track and a filled worksheet without a connection: kept, judged, sent once."""

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from builds.bench.gates.gating import find_power
from builds.bench.models import Build, Halt, MadeSafe, Reading, Sheet, Tick
from tests.browser.test_story import cleared_though_frozen  # noqa: F401
from tests.offline.bench import accessible
from tests.offline.test_dangers import at_the_bench  # noqa: F401

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True), pytest.mark.lengthy]


def type_row(phone, key, typed):
    phone.page.fill(f"#row-{key} input.reading", typed)
    phone.page.press(f"#row-{key} input.reading", "Enter")


def test_rows_typed_without_a_connection_are_judged_kept_and_sent_in_order(at_the_bench):  # noqa: F811
    build, phone = at_the_bench()
    page = phone.page
    phone.cut()
    phone.open(build, "stages/stage-1/grid/")  # from the copy
    type_row(phone, "check-1-1", "311")
    expect(page.locator("#row-check-1-1 .chip")).to_contain_text("in band")
    expect(page.locator("#row-check-1-2 input.reading")).to_be_focused()
    type_row(phone, "check-1-2", "251")
    expect(page.locator("#row-check-1-2")).to_contain_text("Stop here")
    expect(page.locator("#row-check-1-1 .chip")).to_be_visible()  # one row's verdict leaves the others alone
    expect(page.locator("#offline-bar")).to_contain_text("Not sent yet: 2")
    accessible(page)
    phone.reload()
    expect(page.locator("#row-check-1-2 .chip")).to_contain_text("out of band")
    phone.cut(False)
    phone.sends_all()
    rows = list(Reading.objects.order_by("pk").values_list("check_row__key", "typed", "outcome"))
    assert rows == [("check-1-1", "311", "in band"), ("check-1-2", "251", "out of band")]


def test_a_stop_in_the_table_without_a_connection_takes_the_page_over(at_the_bench):  # noqa: F811
    build, phone = at_the_bench(live=True)
    phone.open(build, "stages/stage-2/grid/")
    phone.cut()
    type_row(phone, "check-2-1", "455")
    expect(phone.page.locator(".stop-word")).to_contain_text("Switch off now")
    phone.open(build, "stages/stage-2/grid/")
    expect(phone.page.locator(".stop-word")).to_be_visible()
    assert not Reading.objects.exists()


def test_the_fast_track_keeps_its_ticks_and_hands_stay_out_of_a_live_kit(at_the_bench):  # noqa: F811
    build, phone = at_the_bench(steps=3, live=True, fast_track=True)
    page = phone.page
    phone.open(build, "stages/stage-2/grid/")
    phone.cut()
    for step in ("step-2-1", "step-2-2"):
        page.check(f"#step-{step} input")
    page.click(".fast-steps ~ p button")
    expect(page.locator(".fast-steps .not-sent")).to_have_count(2)
    phone.reload()
    expect(page.locator("#step-step-2-1 input")).to_be_checked()
    expect(page.locator("#step-step-2-3 input")).to_be_disabled()  # hands in while power is on record
    expect(page.locator("#step-step-2-3 .lock")).to_contain_text("make safe first")
    accessible(page)
    assert not Tick.objects.exists()
    phone.cut(False)
    phone.sends_all()
    assert set(Tick.objects.values_list("step__key", flat=True)) == {"step-2-1", "step-2-2"}


def fill_sheet(page, **lines):
    for name, (typed, clock) in lines.items():
        row = name.replace("_", "-")
        page.fill(f"[name={row}-typed]", typed)
        page.fill(f"[name={row}-at]", clock)
    if page.locator("[name=read]").count():
        page.check("[name=read]")


def yesterday(page):
    page.fill("[name=day]", (timezone.localdate() - timezone.timedelta(days=1)).isoformat())


def test_a_sheet_typed_without_a_connection_survives_a_reload_and_is_saved_once(at_the_bench):  # noqa: F811
    build, phone = at_the_bench()
    page = phone.page
    phone.open(build, "stages/stage-1/sheet/")
    yesterday(page)
    fill_sheet(page, check_1_1=("311", "14:05"))
    phone.reload()
    expect(page.locator("[name=check-1-1-typed]")).to_have_value("311")  # typed, and not saved yet
    expect(page.locator("[name=check-1-1-at]")).to_have_value("14:05")
    fill_sheet(page, check_1_2=("299", "14:07"))
    phone.cut()
    page.click("main form button.big")
    expect(page.locator(".kept")).to_contain_text("saved on this phone")
    assert [entry["kind"] for entry in phone.kept()] == ["sheet"] and not Sheet.objects.exists()
    phone.cut(False)
    phone.sends_all()
    assert sorted(Reading.objects.values_list("typed", flat=True)) == ["299", "311"]
    assert Sheet.objects.count() == 1


@pytest.mark.parametrize("is_safe", [False, True])
def test_a_stop_on_a_sheet_takes_the_page_over_unless_the_sheet_made_safe_after_it(is_safe, at_the_bench):  # noqa: F811
    build, phone = at_the_bench()
    page = phone.page
    phone.open(build, "stages/stage-2/sheet/")
    yesterday(page)
    fill_sheet(page, check_2_1=("455", "14:05"))
    if is_safe:
        fill_sheet(page, made_safe=("2.1", "14:20"))
    phone.cut()
    page.click("main form button.big")
    if is_safe:
        expect(page.locator(".kept")).to_contain_text("Keep it unplugged")
    else:
        expect(page.locator(".stop-word")).to_contain_text("Switch off now")
    phone.cut(False)
    phone.sends_all()
    assert Reading.objects.get().outcome == "switch off" and MadeSafe.objects.exists() is is_safe
    assert find_power(Build.objects.get()).stop_unanswered is not is_safe


def test_a_sheet_that_the_site_refuses_later_comes_back_whole(at_the_bench):  # noqa: F811
    """Somebody put a newer entry on record meanwhile: nothing is overwritten, and nothing typed is lost."""
    build, phone = at_the_bench()
    page = phone.page
    phone.open(build, "stages/stage-1/sheet/")
    yesterday(page)
    fill_sheet(page, check_1_1=("311", "14:05"))
    phone.cut()
    page.click("main form button.big")
    expect(page.locator(".kept")).to_be_visible()
    Tick.objects.create(build=build, step=build.revision.stages.get(key="stage-1").steps.first())
    phone.cut(False)
    expect(page.locator("#offline-bar")).to_contain_text("needs your attention")
    phone.go("/not-sent/")
    page.click(".entry a")
    expect(page.locator("[name=check-1-1-typed]")).to_have_value("311")
    page.fill("[name=day]", timezone.localdate().isoformat())
    page.fill("[name=check-1-1-at]", "00:00")
    assert not Halt.objects.exists() and not Reading.objects.exists()
