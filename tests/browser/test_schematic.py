"""The drawn schematic: it follows what is typed in the wiring table, and its page can be read on a phone."""

import pytest
from playwright.sync_api import expect

from builds.guides.guide_file.apply import apply_tables
from builds.guides.guide_file.write import as_tables
from tests import factories
from tests.browser.looking import FITS, violations
from tests.browser.test_from_a_spreadsheet import cleared_though_frozen  # noqa: F401
from tests.browser.test_point_map import signed_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
PARTS = [
    {"ref": "J1", "kind": "connector", "note": "Input", "joins": {"tip": "in", "sleeve": "chassis"}},
    {"ref": "R1", "kind": "resistor", "value": "10k", "joins": ["in", "mid"]},
    {"ref": "R2", "kind": "resistor", "value": "1M", "joins": ["mid", "chassis"]},
    {"ref": "R3", "kind": "resistor", "value": "47k"},
]


@pytest.fixture
def draft():
    made = factories.make_revision(issued=False, stages=0, steps=0, checks=0)
    apply_tables(made, as_tables(made) | {"part": PARTS})
    return made


@pytest.mark.lengthy
def test_the_drawing_follows_the_wiring_table_and_is_read_on_a_phone(browser, live_server, draft):
    base, designer = live_server.url, draft.kit.designers.get()
    page = signed_in(browser, base, designer, {"width": 1280, "height": 900})
    kit = f"{base}/kits/{draft.kit.key}/{draft.letter}"
    page.goto(f"{kit}/wiring/")
    drawing = page.locator("#drawn svg")
    expect(drawing).to_contain_text("R2")
    expect(drawing).not_to_contain_text("R3")
    page.fill("[name='end-R3.a']", "mid")
    page.fill("[name='end-R3.b']", "chassis")
    page.locator("[name='end-R3.b']").blur()
    expect(drawing).to_contain_text("R3")  # before anything is saved
    page.set_viewport_size({"width": 1280, "height": 450})
    page.locator("[name='end-R3.b']").scroll_into_view_if_needed()
    assert page.evaluate("scrollY") > 0
    expect(drawing).to_be_in_viewport()  # beside the last row, too
    assert not draft.parts.get(ref="R3").detail.get("joins")
    with page.expect_navigation():
        page.locator("form[data-grid] button.button").first.click()
    assert draft.parts.get(ref="R3").detail["joins"] == ["mid", "chassis"]
    phone = signed_in(browser, base, designer, {"width": 360, "height": 740})
    phone.goto(f"{kit}/schematic/")
    expect(phone.locator("main svg").first).to_contain_text("R3")
    assert phone.evaluate(FITS)
    assert violations(phone) == []
    with phone.expect_navigation():
        phone.locator("a", has_text="3 ×").click()
    expect(phone.locator("main svg").first).to_contain_text("R3")
    assert phone.evaluate(FITS)
    answer = phone.request.get(f"{kit}/schematic.svg")
    assert answer.ok and answer.headers["content-type"] == "image/svg+xml" and "R3" in answer.text()
