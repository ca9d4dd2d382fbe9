"""Prints what `tests.browser.authoring` counted and how long it took."""

import time

import pytest


@pytest.fixture(autouse=True)
def printed(monkeypatch):
    from tests.browser import authoring  # once Django is set up

    make_kit = authoring.make_kit

    def timed(hand, *args):
        start = time.monotonic()
        make_kit(hand, *args)
        print(f"\n{hand.clicks} clicks, {hand.keys} keys, {time.monotonic() - start:.0f} s without thinking")

    monkeypatch.setattr("tests.browser.test_from_a_spreadsheet.make_kit", timed)
    yield
