"""A page that is only looked at: its browser keeps nothing for a time without a connection, and axe reads it."""

from pathlib import Path

AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text()
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
PATIENCE = 40_000  # ms, before a page counts as hung: a busy machine is slow, and no test is about its speed
RUN = """async (rules) => (await axe.run(document, {runOnly: rules, resultTypes: ["violations"], preload: false}))
  .violations.map(v => v.id + ": " + v.nodes[0].html.slice(0, 160))"""
# A word of a heading, a label or a button that stands on two lines: a column or a button is too narrow for it.
BROKEN = """() => {
  const broken = [];
  for (const place of document.querySelectorAll("th, h1, h2, h3, label, button, .button, .chip")) {
    const isUnseen = (place.closest("thead") || place).getBoundingClientRect().width < 2; // for a screen reader only
    if (isUnseen || getComputedStyle(place).visibility === "hidden" || !place.offsetParent) continue;
    const texts = document.createTreeWalker(place, NodeFilter.SHOW_TEXT);
    while (texts.nextNode()) {
      const text = texts.currentNode;
      const style = getComputedStyle(text.parentElement);
      if (!text.parentElement.offsetParent || style.writingMode !== "horizontal-tb") continue;
      for (const word of text.data.matchAll(/[\\p{L}\\d]{3,}/gu)) {
        const range = document.createRange();
        range.setStart(text, word.index);
        range.setEnd(text, word.index + word[0].length);
        if (new Set([...range.getClientRects()].map((r) => Math.round(r.top / 4))).size > 1) broken.push(word[0]);
      }
    }
  }
  return broken.slice(0, 5);
}"""
REFUSE_COPY = """(() => {
  const ask = window.fetch, copies = /\\/builds\\/\\d+\\/(notebook|copy)\\//;
  window.fetch = (address, ...more) => copies.test(new URL(address.url || address, location.href).pathname)
    ? Promise.resolve(new Response("", {status: 503})) : ask(address, ...more);
})();"""
# Axe's time grows with the square of a long table. Of many siblings alike the first six and the last two are read.
THIN = """() => {
  for (const parent of document.querySelectorAll("tbody, ul, ol, dl, div, section, form, select, g, svg")) {
    const alike = new Map();
    for (const child of parent.children) {
      const kind = child.tagName + " " + child.getAttribute("class");
      alike.set(kind, [...(alike.get(kind) || []), child]);
    }
    for (const children of alike.values()) {
      children.slice(6, -2).forEach((child) => { if (!child.contains(document.activeElement)) child.remove(); });
    }
  }
}"""
FITS = "document.documentElement.scrollWidth <= document.documentElement.clientWidth"


def open_page(browser, **more):
    """A page of its own context. The copy of the whole build, which a phone fetches anew after every reading, is
    refused: how it is made and kept is what tests/offline tests, and here it would be most of the work. The page itself
    refuses it, since a browser whose requests are looked through keeps no file from one page to the next."""
    context = browser.new_context(service_workers="block", **more)
    context.add_init_script(REFUSE_COPY)
    page = context.new_page()
    page.set_default_timeout(PATIENCE)
    return page


def violations(page) -> list[str]:
    """What axe finds on the page as it stands, whose long rows of siblings alike are cut short for it."""
    page.evaluate(THIN)
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE)
    return page.evaluate(RUN, RULES)
