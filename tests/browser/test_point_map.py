"""A point placed with a click on a picture is on the builder's page with its expected volts, and on paper."""

import io

import pytest
from PIL import Image
from playwright.sync_api import expect
from pypdf import PdfReader

from builds.guides.pictures.saving import make_picture
from builds.guides.revisions import issue
from tests import factories
from tests.browser.looking import violations
from tests.browser.test_from_a_spreadsheet import cleared_though_frozen  # noqa: F401
from tests.factories import PASSWORD

REACHES = """[...document.querySelectorAll(".map-way")].map(way => way.getBoundingClientRect())
  .every((box, n, all) => all.length && box.width >= 44 && box.height >= 44)"""
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def signed_in(browser, base, person, size):
    page = browser.new_context(viewport=size).new_page()
    page.set_default_timeout(40_000)
    page.goto(f"{base}/sign-in/")
    page.fill("[name=username]", person.display_name)
    page.fill("[name=password]", PASSWORD)
    with page.expect_navigation():
        page.click("main button")
    return page


@pytest.mark.lengthy
def test_a_click_on_a_picture_shows_the_builder_where_and_how_many_volts(browser, live_server):
    draft = factories.make_revision(issued=False, stages=2, checks=1)
    draft.stages.filter(power="on").update(cautions=["lethal-voltage"])
    out = io.BytesIO()
    Image.new("RGB", (600, 300), "white").save(out, "PNG")
    make_picture(draft, "layout.png", out.getvalue())
    base, designer = live_server.url, draft.kit.designers.get()
    page = signed_in(browser, base, designer, {"width": 1280, "height": 900})
    page.goto(f"{base}/kits/{draft.kit.key}/{draft.letter}/pictures/layout.png/points/")
    page.select_option("[name=point]", "ht")
    with page.expect_navigation():
        page.locator("input[type=image]").click(position={"x": 150, "y": 75})
    expect(page.locator("main")).to_contain_text("ht")
    assert draft.points.get(node="ht").marker == pytest.approx([0.25, 0.25], abs=0.01)
    build = factories.make_build(revision=issue(draft))
    bench = signed_in(browser, base, build.builder, {"width": 360, "height": 740})
    bench.goto(f"{base}/builds/{build.pk}/map/?picture=layout.png")
    chip = bench.locator("main svg", has_text="300 V").first
    expect(chip).to_be_visible()
    assert bench.evaluate("document.documentElement.scrollWidth") <= 360
    assert bench.evaluate(REACHES)  # px, WCAG 2.2, 2.5.5
    bench.goto(f"{base}/builds/{build.pk}/map/?picture=layout.png&zoom=3")
    assert bench.evaluate(REACHES)
    bench.locator(".map-way").first.click()  # a drawing that is zoomed is scrolled to it by the browser
    line = bench.locator("tr:target")
    expect(line).to_contain_text("300")
    expect(line).to_be_in_viewport()
    assert not violations(bench)
    paper = page.request.get(f"{base}/reports/{draft.kit.key}/{draft.letter}/guide.pdf")
    assert paper.ok and "300" in "".join(sheet.extract_text() for sheet in PdfReader(io.BytesIO(paper.body())).pages)
