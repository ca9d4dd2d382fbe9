"""Markdown of the guide made into safe HTML: a small set of tags, no raw HTML, no outside pictures."""

import html
from urllib.parse import urlsplit

import nh3
from markdown_it import MarkdownIt

TAGS = {
    "p",
    "br",
    "em",
    "strong",
    "ul",
    "ol",
    "li",
    "code",
    "h3",
    "h4",
    "table",
    "thead",
    "tbody",
    "tr",
    "th",
    "td",
    "blockquote",
    "a",
    "hr",
}
_parser = MarkdownIt("commonmark", {"html": False}).enable("table")


def _with_host(tag: str, name: str, value: str) -> str | None:
    """A link leads to a page of a named host or to an e-mail address; anything else is text. A name before the host,
    as in https://bank.example@other.example, shows another host than it leads to."""
    if name != "href":  # what the cleaner adds itself
        return value
    try:
        parts = urlsplit(value.strip())
        host = parts.hostname
    except ValueError:
        return None
    if parts.scheme == "mailto":
        return value if "@" in parts.path else None
    return value if parts.scheme in ("http", "https") and host and "@" not in parts.netloc else None


def to_html(text: str) -> str:
    return nh3.clean(
        _parser.render(text or ""),
        tags=TAGS,
        attributes={"a": {"href"}},
        attribute_filter=_with_host,
        url_schemes={"http", "https", "mailto"},
        link_rel="noopener noreferrer nofollow",
    )


def to_text(text: str) -> str:
    """The words alone, on one line: for lists and choices, where Markdown's marks would be in the way."""
    return " ".join(html.unescape(nh3.clean(_parser.render(text or ""), tags=set())).split())


def quote(text: str) -> str:
    """Somebody's words between quotation marks; their own become single ones inside."""
    return f"“{str(text).strip().replace('“', '‘').replace('”', '’')}”"
