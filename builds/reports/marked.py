"""Markdown of the guide on paper: bold, lists and line ends as the page shows them, and never a raw mark."""

import re

import nh3

from builds.ui.rich_text import to_html

AS_PAPER = (("strong>", "b>"), ("em>", "i>"), ("<li>", "• "))
ENDS = re.compile(r"</(?:p|li|tr|h3|h4|blockquote)>|<br ?/?>|<hr ?/?>")
LINK = re.compile(r'<a href="([^"]*)"[^>]*>(.*?)</a>', re.DOTALL)
BETWEEN = re.compile(r"</t[hd]>\s*<t[hd]>")


def mark_up(text: str) -> str:
    """The markup a paragraph of a PDF takes: b, i and br, all else as plain words. Paper has no links, so
    an address stands behind the words it belongs to."""
    html = LINK.sub(_with_address, BETWEEN.sub(": ", to_html(text)))
    for tag, paper in AS_PAPER:
        html = html.replace(tag, paper)
    lines = (" ".join(nh3.clean(line, tags={"b", "i"}).split()) for line in ENDS.split(html))
    return "<br/>".join(line for line in lines if line)


def _with_address(link: re.Match) -> str:
    address, text = link[1].removeprefix("mailto:"), link[2]
    bare = re.sub(r"<[^>]*>", "", text).strip()
    is_said = bare.rstrip("/") in (address.rstrip("/"), re.sub(r"^https?://", "", address).rstrip("/"))
    return text if is_said else f"{text} ({address})"
