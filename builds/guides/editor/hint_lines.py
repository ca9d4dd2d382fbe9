"""A check's hints as lines that a designer can type: "low: F2 is blown.", or "low, then ht-secondary: ..." where a
check follows."""

import re

from django.utils.translation import gettext as _

from builds.ui.errors import SiteError

_HEAD = re.compile(r"(low|high|off)(?:, then ([a-z0-9][a-z0-9_-]*))?: ", re.IGNORECASE)


def to_lines(hints: list[dict]) -> str:
    """One line a hint; lines of a longer text follow it, set in."""
    return "\n".join(
        f"{h['when']}{', then ' + h['next'] if h.get('next') else ''}: " + h["text"].strip().replace("\n", "\n  ")
        for h in hints
    )


def from_lines(text: str) -> list[dict]:
    """The hints that lines say. Raises SiteError for a first line that does not say when."""
    hints = []
    for line in text.replace("\r\n", "\n").split("\n"):
        head = _HEAD.match(line)
        if head:
            then = {"next": head[2].lower()} if head[2] else {}
            hints.append({"when": head[1].lower(), "text": line[head.end() :], **then})
        elif line.strip() and not hints:
            message = _("“%(line)s” does not say when it applies. Begin a hint with low:, high: or off:.")
            raise SiteError(message % {"line": line.strip()[:40]}, argument="hints")
        elif hints:
            hints[-1]["text"] = f"{hints[-1]['text']}\n{line.removeprefix('  ')}"
    hints = [hint | {"text": hint["text"].strip()} for hint in hints]
    if any(not hint["text"] for hint in hints):
        raise SiteError(_("A hint needs text after low:, high: or off:."), argument="hints")
    return hints
