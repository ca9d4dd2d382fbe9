"""Links the first place where a word of the glossary stands on a page to its entry."""

import re
from functools import lru_cache

from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import get_language

from builds.ui.messages.glossary import terms

TAG = re.compile(r"(<[^>]*>)")
SHUT = {"a", "button", "code", "h1", "h2", "h3", "h4", "summary", "label", "strong"}  # no link inside these


@lru_cache(maxsize=8)
def _pattern(_language: str | None) -> tuple[re.Pattern, dict[str, str]]:
    """Everything that is linked, the longest first, and the entry of each way to say it."""
    ways = {way: term.key for term in terms() for way in term.also}
    longest = sorted(ways, key=len, reverse=True)
    alternatives = "|".join(map(_exactly, longest))
    return re.compile(rf"(?<![\w+−-])(?:{alternatives})(?![\w+-])"), ways | {w.casefold(): k for w, k in ways.items()}


def _exactly(way: str) -> str:
    """Short forms (HT, OL) as they are written; words whatever the case of their first letter."""
    if way.isupper() or len(way) < 3:
        return re.escape(way)
    return f"(?i:{re.escape(way[0])}){re.escape(way[1:])}"


def gloss(html: str, seen: set[str]) -> str:
    """Safe HTML with each word of the glossary that is not in `seen` linked once; `seen` is added to."""
    pattern, keys = _pattern(get_language())
    shut: list[str] = []

    def link(match: re.Match) -> str:
        word = match.group()
        key = keys.get(word) or keys[word.casefold()]
        if key in seen:
            return word
        seen.add(key)
        return str(format_html('<a class="term" href="{}#{}">{}</a>', reverse("accounts:glossary"), key, word))

    def walked(piece: str) -> str:
        if not piece.startswith("<"):
            return piece if shut else pattern.sub(link, piece)
        name = piece.strip("</>").split()[0].lower() if piece.strip("</> ") else ""
        if name in SHUT:
            if piece.startswith("</"):
                if shut:
                    shut.pop()
            else:
                shut.append(name)
        return piece

    return "".join(walked(piece) for piece in TAG.split(html))
