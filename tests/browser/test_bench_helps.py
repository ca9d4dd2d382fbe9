"""What scripts add at the bench, tried with a keyboard and a finger: readings in a row, the place of a snag, the camera
with the example over it, and the designer's photos gone through by keyboard."""

from uuid import uuid4

import pytest
from django.core.files.base import ContentFile
from django.urls import reverse
from playwright.sync_api import expect

from builds.bench.models import Photo, Reading, Snag
from builds.bench.photos.storage import save_photo
from builds.guides.models import Picture
from builds.review.demo.photos import draw_photo
from tests import factories
from tests.browser.test_first_screen import SCREEN, sign_in
from tests.browser.test_story import PATIENCE, cleared_though_frozen  # noqa: F401
from tests.browser.test_traps import go, issue, open_build

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True), pytest.mark.lengthy]
CAMERA = """
navigator.mediaDevices.getUserMedia = async () => {
  const canvas = Object.assign(document.createElement("canvas"), {width: 640, height: 480});
  const draw = () => { canvas.getContext("2d").fillRect(0, 0, 640, 480); requestAnimationFrame(draw); };
  draw();
  return canvas.captureStream(10);
};
"""


@pytest.fixture
def phone(browser):
    page = browser.new_context(viewport=SCREEN).new_page()
    page.set_default_timeout(PATIENCE)
    return page


def with_example():
    """A guide whose one step has a picture and asks for a photo."""
    revision = factories.make_revision(stages=1, checks=1, steps=1, gate=False, issued=False)
    revision.stages.get().steps.update(picture="x.jpg", photo="optional")
    picture = Picture(revision=revision, name="x.jpg", width=640, height=480)
    picture.file.save("x.jpg", ContentFile(draw_photo("x.jpg", "guide", "example").read()))
    return open_build(issue(revision))


def test_readings_are_typed_down_the_rows_and_one_that_is_off_holds_the_focus(phone, live_server):
    build = open_build(factories.make_revision(stages=1, checks=3, steps=0, gate=False))
    sign_in(phone, live_server.url, build.builder)
    phone.wait_for_url("**/builds/")
    go(phone, live_server, "grid", build, "stage-1")
    phone.locator("#row-check-1-1 input.reading").focus()
    phone.keyboard.type("300")
    phone.keyboard.press("Enter")
    expect(phone.locator("#row-check-1-2 input.reading")).to_be_focused()
    expect(phone.locator("#spoken")).to_contain_text("Check 1.1")
    phone.keyboard.type("350")
    phone.keyboard.press("Enter")
    expect(phone.locator("#row-check-1-2 .chip")).to_contain_text("out of band")
    expect(phone.locator("#row-check-1-2 input.reading")).to_be_focused()
    phone.keyboard.press("ArrowDown")
    expect(phone.locator("#row-check-1-3 input.reading")).to_be_focused()
    assert sorted(Reading.objects.values_list("typed", flat=True)) == ["300", "350"]


def test_a_stop_takes_the_rows_over(phone, live_server):
    build = open_build(factories.make_revision(stages=1, checks=2, steps=0, gate=False))
    sign_in(phone, live_server.url, build.builder)
    phone.wait_for_url("**/builds/")
    go(phone, live_server, "grid", build, "stage-1")
    phone.fill("#row-check-1-1 input.reading", "470")
    phone.keyboard.press("Enter")
    phone.wait_for_url("**/stop/")


def test_a_tap_on_the_guides_picture_marks_the_place_of_a_snag(phone, live_server):
    build = with_example()
    sign_in(phone, live_server.url, build.builder)
    phone.wait_for_url("**/builds/")
    phone.goto(live_server.url + reverse("bench:new-snag", args=[build.pk, "stage-1"]) + "?about=step:step-1-1")
    area = phone.locator(".spot-area")
    expect(phone.locator(".spot-area img")).to_have_js_property("complete", True)
    box = area.bounding_box()
    area.click(position={"x": box["width"] / 4, "y": box["height"] / 2})
    expect(phone.locator(".spot-ring")).to_be_visible()
    area.press("ArrowRight")
    phone.check("[name=kind][value=fit]")
    phone.check("[name=severity][value=slowed]")
    phone.fill("[name=words]", "This hole is too small")
    phone.click("main form button.big")
    phone.wait_for_url("**/snags/*/")
    spot = Snag.objects.get().spot
    assert spot["on"] == "picture" and abs(spot["x"] - 0.27) < 0.02 and abs(spot["y"] - 0.5) < 0.02
    expect(phone.locator("svg .marker")).to_be_visible()


def test_the_camera_opens_with_the_example_over_it_and_sends_the_photo(phone, live_server):
    build = with_example()
    phone.add_init_script(CAMERA)
    sign_in(phone, live_server.url, build.builder)
    phone.wait_for_url("**/builds/")
    go(phone, live_server, "stage", build, "stage-1")
    phone.click("button[data-example]")
    expect(phone.locator("#camera .camera-view img")).to_be_visible()
    assert "/pictures/x.jpg" in phone.locator("#camera .camera-view img").get_attribute("src")
    expect(phone.locator("#camera video")).to_have_js_property("videoWidth", 640)
    phone.click(".camera-take")
    expect(phone.locator(".photos img")).to_be_visible()
    assert Photo.objects.get().width == 640


def test_without_a_camera_the_file_field_is_there(phone, live_server):
    build = with_example()
    phone.add_init_script("Object.defineProperty(navigator, 'mediaDevices', {value: undefined})")
    sign_in(phone, live_server.url, build.builder)
    phone.wait_for_url("**/builds/")
    go(phone, live_server, "stage", build, "stage-1")
    expect(phone.locator("#file-step-step-1-1")).to_be_visible()
    assert not phone.locator("button[data-example]").is_visible()


def test_the_designer_goes_through_the_photos_by_keyboard(phone, live_server):
    revision = factories.make_revision(stages=1, checks=1, steps=2, gate=False)
    first, second = revision.stages.get().steps.all()
    for serial in ("K-1", "K-2"):
        build = factories.make_build(revision=revision, serial=serial)
        for step in (first, second):
            save_photo(draw_photo("a.jpg", serial, "x"), build=build, stage=step.stage, step=step, entry_key=uuid4())
    sign_in(phone, live_server.url, revision.kit.designers.first())
    phone.wait_for_selector("h1")
    where = [revision.kit.key, revision.letter, "stage-1"]
    phone.goto(live_server.url + reverse("review:step-photos", args=[*where, first.key]))
    links = phone.locator(".photo-wall .figure > a")
    phone.keyboard.press("ArrowRight")
    expect(links.nth(0)).to_be_focused()
    phone.keyboard.press("ArrowRight")
    expect(links.nth(1)).to_be_focused()
    phone.keyboard.press("ArrowRight")
    phone.wait_for_url("**" + reverse("review:step-photos", args=[*where, second.key]))


def test_the_focus_stays_on_the_box_that_was_ticked_and_next_moves_on(phone, live_server):
    build = open_build(factories.make_revision(stages=1, checks=1, steps=2, gate=False))
    sign_in(phone, live_server.url, build.builder)
    phone.wait_for_url("**/builds/")
    go(phone, live_server, "stage", build, "stage-1")
    phone.locator("#tick-step-1-1").focus()
    phone.keyboard.press("Enter")
    expect(phone.locator("#step-step-1-1.is-ticked")).to_be_visible()
    expect(phone.locator("#next")).to_have_attribute("data-line", "step-step-1-2")
    expect(phone.locator("#tick-step-1-1")).to_be_focused()
