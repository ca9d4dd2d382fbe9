"""What a builder's pages weigh over the wire, and whether they move: `python -m tests.speed.transfer`

The demo as README's command serves it, asked for by a browser with an empty cache, the phone's size, packed where the
server packs. "page" is everything fetched until the page has loaded; "after" is what its scripts fetch once it stands
(the copy for work without a connection). CLS is the cumulative layout shift (web.dev: 0.1 or less is good).

Goal: the first stage page in 40 KB, stylesheet, scripts and fonts included.
"""

import os
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request

PASSWORD = "weigh the pages 41"
SCREEN = {"width": 360, "height": 740}
GOAL = 40_000
SHIFTS = """window.shift = 0; new PerformanceObserver(list => list.getEntries().forEach(e => {
  if (!e.hadRecentInput) window.shift += e.value; })).observe({type: "layout-shift", buffered: true})"""


def main() -> None:
    os.environ["DATA_DIR"] = tempfile.mkdtemp()
    with socket.socket() as result:
        result.bind(("127.0.0.1", 0))
        port = result.getsockname()[1]
    demo = [sys.executable, "manage.py", "demo", "--port", str(port), "--password", PASSWORD]
    began = time.monotonic()
    served = subprocess.Popen(demo, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        base = f"http://localhost:{port}"
        _wait(base)
        print(
            f"the demo's first page {time.monotonic() - began:.1f} s after the command (goal 20 s on a quiet machine)"
        )
        _weigh(base)
    finally:
        served.terminate()
        served.wait()


def _wait(base: str) -> None:
    for _ in range(3000):
        try:
            urllib.request.urlopen(base + "/sign-in/").read()
            return
        except OSError:
            time.sleep(0.1)
    raise SystemExit("the demo did not start within five minutes")


def _weigh(base: str) -> None:
    from playwright.sync_api import sync_playwright

    from tests import browser_search as browser

    with sync_playwright() as play:
        path = browser.found()
        own = {} if path == browser.PLAYWRIGHTS else {"executable_path": path}
        launched = play.chromium.launch(headless=True, args=browser.FLAGS, **own)
        cookies = _signed_in(launched, base)
        for name, address in _pages(launched, base, cookies):
            print(_line(name, *_one(launched, base + address, cookies)))
        launched.close()


def _signed_in(launched, base: str) -> list:
    page = launched.new_context(viewport=SCREEN).new_page()
    page.goto(base + "/sign-in/")
    page.fill("[name=username]", "Builder 01")
    page.fill("[name=password]", PASSWORD)
    page.click("main button")
    page.wait_for_url("**/builds/")
    return page.context.cookies()


def _pages(launched, base: str, cookies):
    """(name, address) of the pages that are weighed, found from the builder's first page."""
    context = launched.new_context(viewport=SCREEN)
    context.add_cookies(cookies)
    page = context.new_page()
    page.goto(base + "/builds/")
    build = page.locator("main a[href^='/builds/']").first.get_attribute("href")
    page.goto(base + build)
    stages = page.locator(".stage-line > a").evaluate_all("all => all.map(a => a.getAttribute('href'))")
    page.goto(base + stages[0])
    check = page.locator("a.check-line").first.get_attribute("href")
    yield from (
        ("sign-in", "/sign-in/"),
        ("my builds", "/builds/"),
        ("one build", build),
        ("first stage", stages[0]),
        ("largest stage", stages[4]),
        ("one check", check),
        ("all readings", build + "readings/"),
        ("search", build + "find/?q=V2"),
        ("worksheet", f"/reports{build}worksheet/"),
        ("glossary", "/glossary/"),
    )
    context.close()


def _one(launched, address: str, cookies) -> tuple[dict, dict, float]:
    """(bytes until the page has loaded, bytes after, CLS) with an empty cache; by kind of file, headers included."""
    context = launched.new_context(viewport=SCREEN)
    context.add_cookies(cookies if "sign-in" not in address else [])
    page = context.new_page()
    page.add_init_script(SHIFTS)
    link = context.new_cdp_session(page)
    link.send("Network.enable")
    kinds, sizes, now = {}, {"page": {}, "after": {}}, ["page"]

    def began(event):
        kinds[event["requestId"]] = event["type"]

    def ended(event):
        kind = kinds.get(event["requestId"], "Other")
        sizes[now[0]][kind] = sizes[now[0]].get(kind, 0) + event["encodedDataLength"]

    link.on("Network.responseReceived", began)
    link.on("Network.loadingFinished", ended)
    page.goto(address)
    page.wait_for_load_state("load")
    now[0] = "after"
    page.wait_for_timeout(2500)
    shift = page.evaluate("window.shift")
    context.close()
    return sizes["page"], sizes["after"], shift


def _line(name: str, sizes: dict, after: dict, shift: float) -> str:
    whole = sum(sizes.values())
    parts = ", ".join(f"{kind.lower()} {size / 1000:.1f}" for kind, size in sorted(sizes.items()))
    goal = f" (goal {GOAL / 1000:.0f})" if name == "first stage" else ""
    return (
        f"{name:14s} {whole / 1000:5.1f} KB{goal}: {parts}; after {sum(after.values()) / 1000:.1f} KB; CLS {shift:.3f}"
    )


if __name__ == "__main__":
    main()
