"""A designer who makes a kit from a spreadsheet and a document, every click and key counted."""

from pathlib import Path

from playwright.sync_api import Page, expect

from tests.builds.guides.documents import as_docx
from tests.builds.guides.test_wiring_and_blocks import LINE_STAGE

BLOCKS = (
    ("Rectifier and smoothing", {"volts": "220", "amps": "50 mA", "ohms": "350", "primary_ohms": "40"}),
    ("Heater winding", {"amps": "1", "ohms": ".3"}),
    ("Triode stage", {}),
    ("Cathode follower", {}),
)
TICKED = (  # what the document's tables have not: 11 checks
    "ht-1", "ht-3", "v1-6", "v1-8", "v1-3",  # resistances before power
    "ht-1", "ht-3",  # B+ without valves
    "heater-v1", "ht-1", "v1-6", "current-r10",  # with valves
)  # fmt: skip


class Counted:
    """A page on which clicks and keys are counted."""

    def __init__(self, page: Page):
        self.page, self.clicks, self.keys = page, 0, 0

    def click(self, selector: str) -> None:
        self.clicks += 1
        self.page.locator(selector).first.click()

    def follow(self, selector: str) -> None:
        """Click what leads to another page, and wait for it."""
        with self.page.expect_navigation():
            self.click(selector)

    def type(self, selector: str, text: str) -> None:
        """Click into a field and type; what stands there is typed over."""
        self.clicks += 1
        self.keys += len(text)
        self.page.locator(selector).first.fill(text)

    def pick(self, selector: str, value: str) -> None:
        """Choose from a list: opening it and the choice are a click each."""
        self.clicks += 2
        self.page.select_option(selector, value)

    def choose(self, selector: str, path: Path) -> None:
        """Choose a file: the field and the file are a click each. It is read as soon as it is chosen."""
        self.clicks += 2
        with self.page.expect_navigation():
            self.page.locator(selector).set_input_files(path)


def make_kit(hand: Counted, base: str, folder: Path) -> None:
    """From the list of kits to an issued revision: 25 parts, 4 stages, 14 checks."""
    sheet, document = folder / "parts.csv", folder / "guide.docx"
    sheet.write_bytes(LINE_STAGE.encode("cp1252"))
    document.write_bytes(as_docx())
    hand.page.goto(base + "/kits/")
    hand.follow("text=Write a guide here")
    hand.type("[name=name]", "Line stage")
    hand.pick("[name=mains]", "230-50")
    hand.follow("main button")
    _parts(hand, sheet)
    _circuit(hand)
    _text(hand, document)
    _checks(hand)
    _issue(hand)


def _parts(hand: Counted, sheet: Path) -> None:
    hand.follow("text=Import the parts list from a spreadsheet")
    hand.choose("[name=file]", sheet)
    expect(hand.page.locator("text=25 parts added")).to_be_visible()
    hand.follow("[name=save]")


def _circuit(hand: Counted) -> None:
    hand.follow("text=Building blocks")
    for title, figures in BLOCKS:
        hand.follow(f"h2 >> text={title}")
        for name, figure in figures.items():
            hand.type(f"[name=ask-{name}]", figure)
        hand.follow("text=Place this block")
    left = hand.page.locator(".notice", has_text="Not wired yet:").all_inner_texts()
    assert not left, left


def _text(hand: Counted, document: Path) -> None:
    hand.follow(".crumbs >> text=Line stage")
    hand.follow("text=Import the stages and steps from a document")
    hand.choose("[name=file]", document)
    hand.follow("[name=save]")


def _checks(hand: Counted) -> None:
    hand.follow("text=Proposed checks")
    hand.click("[data-tick-all]")
    boxes = hand.page.locator("input[name=add]")
    names = [boxes.nth(n).get_attribute("value") for n in range(boxes.count())]
    at = 0
    for key in TICKED:
        at = next(n for n in range(at, len(names)) if names[n].endswith(f"/{key}"))
        hand.clicks += 1
        boxes.nth(at).check()
        at += 1
    hand.follow("text=Apply ticked proposals")


def _issue(hand: Counted) -> None:
    hand.follow("text=Circuit figures")
    expect(hand.page.locator("h1")).to_be_visible()
    hand.follow(".crumbs >> text=Line stage")
    hand.click("summary:has-text('Issue')")
    reason = hand.page.locator("[name=reason]")
    if reason.count():
        hand.type("[name=reason]", "Figures are the prototype’s.")
    hand.follow("button:has-text('Issue revision')")
    expect(hand.page.locator("h1 .chip")).to_have_text("issued")
