"""Which browser the browser tests use: the one CHROMIUM names, an installed one, or Playwright's own."""

import os
import shutil
from functools import cache
from pathlib import Path

# The same browser without a window of its own takes a third of the time: what a test waits for is mostly that.
NAMES = ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
NAMES += ("chrome", "msedge")
APPLICATIONS = (
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
)
PLAYWRIGHTS = "playwright"
MISSING = "No Chromium, Chrome or Playwright browser was found."
REMEDY = "Get one with: .venv/bin/playwright install --with-deps chromium"
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@cache
def found() -> str:
    """The path of a browser, PLAYWRIGHTS for the one Playwright downloaded, or "" where there is none."""
    named = os.environ.get("CHROMIUM", "")
    if named:
        return named if os.access(named, os.X_OK) else ""
    installed = (shutil.which(name) for name in NAMES)
    return next(filter(None, installed), "") or next(filter(os.path.exists, APPLICATIONS), "") or _playwrights()


def _playwrights() -> str:
    named = os.environ.get("PLAYWRIGHT_BROWSERS_PATH", "")
    folders = [
        Path(named) if named and named != "0" else None,
        Path.home() / ".cache" / "ms-playwright",
        Path.home() / "Library" / "Caches" / "ms-playwright",
        Path.home() / "AppData" / "Local" / "ms-playwright",
    ]
    return PLAYWRIGHTS if any(folder and any(folder.glob("chromium*")) for folder in folders) else ""
