"""A kit that nobody prepared the site for, from its designer's own files to a builder's first reading: a CSV in a code
page of before Unicode, and a .docx whose headings are bold lines and whose steps have boxes to tick.
"""

import re

import pytest
from playwright.sync_api import expect

from builds.guides.models import Revision
from tests.browser import american_kit
from tests.browser.authoring import Counted
from tests.browser.test_story import Bench, cleared_though_frozen, designer  # noqa: F401 - fixtures

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
AMERICAN_BLOCKS = (
    ("Rectifier and smoothing", {"ohms": "350", "primary_ohms": "12"}),
    ("Heater winding", {"ohms": "0.15"}),
    ("Triode stage", {}),
    ("Cathode follower", {}),
)


def write_guide(hand: Counted, base: str, name: str, files, blocks) -> str:
    """From the list of kits to a draft with parts, circuit, text and the proposed checks; returns its address."""
    sheet, document = files
    hand.page.goto(base + "/kits/")
    hand.follow("text=Write a guide here")
    hand.type("[name=name]", name)
    hand.pick("[name=mains]", "120-60" if name.startswith("Porch") else "230-50")
    hand.follow("main button")
    draft = hand.page.url
    hand.follow("text=Import the parts list from a spreadsheet")
    hand.choose("[name=file]", sheet)
    hand.follow("[name=save]")
    hand.follow("text=Building blocks")
    for title, figures in blocks:
        hand.follow(f"h2 >> text={title}")
        for field, figure in figures.items():
            hand.type(f"[name=ask-{field}]", figure)
        hand.follow("text=Place this block")
        expect(hand.page.locator(".notice", has_text="Placed:")).to_be_visible()
    hand.follow(f".crumbs >> text={name}")
    hand.follow("text=Import the stages and steps from a document")
    hand.choose("[name=file]", document)
    assert not hand.page.locator(".notice.stop").count()
    hand.type("[name=band_for_all]", "15%")
    hand.follow("[name=save]")
    hand.follow("text=Proposed checks")
    hand.follow("text=Apply ticked proposals")
    return draft


def issue(hand: Counted, draft: str, key: str, reason: str = "") -> Revision:
    """Have the figures computed, then issue; with a reason only where one is given here. Without a worker the page
    waits for every figure and fault of an issued revision."""
    hand.page.set_default_timeout(400_000)
    hand.page.goto(draft)
    hand.follow("text=Circuit figures")
    expect(hand.page.locator("h1")).to_be_visible()
    hand.page.goto(draft)
    hand.click("summary:has-text('Issue')")
    assert bool(hand.page.locator("[name=reason]").count()) == bool(reason), reason
    if reason:
        hand.type("[name=reason]", reason)
    hand.follow("button:has-text('Issue revision')")
    expect(hand.page.locator("h1 .chip")).to_have_text("issued")
    return Revision.objects.get(kit__key=key)


def first_reading(page, browser, base: str, revision: Revision, volts: str) -> Bench:
    """A builder is invited, opens the stage with the power off, and reads the resistance that the document gives."""
    page.goto(f"{base}/review/{revision.kit.key}/A/builds/")
    page.fill("[name=serial]", "S-1")
    page.press("[name=serial]", "Enter")
    bench = Bench(browser, base, page.locator(".linkline code").inner_text(), "Builder 31")
    for stage in revision.stages.all():
        bench.open(stage.title, mains=volts)
        if stage.checks.exists():
            return bench
        bench.tick_all()
    raise AssertionError("no stage has a check")


@pytest.mark.lengthy
def test_an_american_kit_is_issued_without_an_objection(designer, browser, live_server, tmp_path):  # noqa: F811
    hand = Counted(designer)
    draft = write_guide(hand, live_server.url, "Porch light", american_kit.write(tmp_path), AMERICAN_BLOCKS)
    revision = issue(hand, draft, "porch-light")
    assert (revision.parts.count(), revision.mains_volts, revision.mains_hertz) == (27, 120, 60)
    bench = first_reading(designer, browser, live_server.url, revision, "121")
    bench.read("V1 pin 8", "1.49", unit="kΩ", expects="in band")
    bench.open("Resistance Checks, Unplugged")
    expect(bench.page.locator(".check-line", has_text=re.compile("V1 pin 8")).first).to_contain_text("1.49")
