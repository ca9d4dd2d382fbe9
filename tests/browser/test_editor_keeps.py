"""The editor in a browser: what is typed is kept until it is saved, and a picture is marked with the mouse."""

import io

import pytest
from django.core.files.base import ContentFile
from PIL import Image
from playwright.sync_api import expect

from tests import factories
from tests.clearing import clear_though_frozen
from tests.factories import PASSWORD

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture(autouse=True)
def cleared_though_frozen(transactional_db, live_server):
    yield
    clear_though_frozen()


@pytest.fixture
def draft():
    revision = factories.make_revision(issued=False, stages=1, checks=0)
    out = io.BytesIO()
    Image.new("RGB", (400, 200), "white").save(out, "PNG")
    picture = revision.pictures.model(revision=revision, name="a.png", width=400, height=200)
    picture.file.save("a.png", ContentFile(out.getvalue()))
    return revision


@pytest.fixture
def page(browser, live_server, draft):
    """Without the site's worker, which would send what a test cuts off."""
    result = browser.new_context(viewport={"width": 1280, "height": 900}, service_workers="block").new_page()
    result.set_default_timeout(40_000)
    result.goto(live_server.url + "/sign-in/")
    result.fill("[name=username]", draft.kit.designers.get().display_name)
    result.fill("[name=password]", PASSWORD)
    with result.expect_navigation():
        result.click("main button")
    return result


@pytest.mark.lengthy
def test_typed_text_comes_back_and_overwrites_nobody(page, live_server, draft):
    step = draft.stages.get().steps.first()
    base = f"{live_server.url}/kits/{draft.kit.key}/{draft.letter}/"
    form = f"{base}in/stage-1/step/{step.pk}/edit/"
    page.goto(form)
    page.fill("[name=text]", "Do thing 1. Typed")
    expect(page.locator("[data-typed-kept]")).to_be_visible()
    page.goto(base)  # left without saving
    step.text = "Said by another designer."
    step.save()
    page.goto(form)
    expect(page.locator("[name=text]")).to_have_value("Said by another designer.")  # nothing is put back by itself
    page.locator("[data-typed-put]").click()
    expect(page.locator("[name=text]")).to_have_value("Do thing 1. Typed")
    page.locator("#row-form button.button").first.click()
    expect(page.locator(".notice.stop[role=alert]")).to_contain_text("Said by another designer.")  # both texts
    step.refresh_from_db()
    assert step.text == "Said by another designer."
    page.locator("#row-form button.button").first.click()
    page.wait_for_url(f"{base}#step-{step.pk}")
    page.goto(form)
    expect(page.locator("[name=text]")).to_have_value("Do thing 1. Typed")
    assert page.locator("[data-typed-put]").count() == 0  # saved: nothing is kept any more


@pytest.mark.lengthy
def test_an_arrow_drawn_with_the_mouse_is_a_row_that_is_saved(page, live_server, draft):
    page.goto(f"{live_server.url}/kits/{draft.kit.key}/{draft.letter}/pictures/a.png/edit/")
    box = page.locator(".mark-drawing image").bounding_box()  # its element is wider than the picture
    page.mouse.move(box["x"] + box["width"] / 4, box["y"] + box["height"] / 2)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2, steps=3)
    page.mouse.up()
    expect(page.locator("[name=mark-0-what]")).to_have_value("arrow")
    with page.expect_navigation():
        page.locator("button[name=marks]").click()
    (mark,) = draft.pictures.get().changes["mark"]
    assert mark["what"] == "arrow" and mark["at"] == pytest.approx([0.25, 0.5], abs=0.01)
    assert mark["to"] == pytest.approx([0.5, 0.5], abs=0.01)


@pytest.mark.lengthy
def test_only_what_arrived_is_forgotten(page, live_server, draft):
    """What was saved is not offered to the next row; what was lost on its way is, whatever was opened since."""
    base = f"{live_server.url}/kits/{draft.kit.key}/{draft.letter}/"
    add = f"{base}in/stage-1/add/step/"
    page.goto(add)
    page.fill("[name=key]", "tag-strip")
    page.fill("[name=text]", "Fit the tag strip.")
    with page.expect_navigation():
        page.locator("#row-form button.button").first.click()
    page.goto(add)
    expect(page.locator("[name=text]")).to_have_value("")
    assert page.locator("[data-typed-put]").count() == 0
    page.fill("[name=key]", "fuse-holder")
    page.fill("[name=text]", "Fit the fuse holder.")
    page.route(add, lambda route: route.abort() if route.request.method == "POST" else route.continue_())
    with page.expect_request(lambda request: request.method == "POST"):
        page.locator("#row-form button.button").first.click()
    page.wait_for_timeout(300)  # for its failure: nothing on a page tells of it
    for other in (base, f"{base}wiring/", add):
        page.goto(other)
    page.locator("[data-typed-put]").click()
    expect(page.locator("[name=text]")).to_have_value("Fit the fuse holder.")
