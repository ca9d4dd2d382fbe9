"""A moment in a video: the key `video` of a stage, a step or a part, { address = "https://…", at = "0:04:15" }.

The link opens the address at that moment: after # as a media fragment (W3C Media Fragments URI 1.0, t=255), or where
the address itself has {seconds} in it, there. Nothing is embedded and nothing is fetched by the site.
"""

import re
from dataclasses import dataclass
from urllib.parse import urlsplit

from django.utils.translation import gettext as _

LONGEST = 300
_AT = re.compile(r"(\d{1,2}):([0-5]\d):([0-5]\d)", re.ASCII)
_SHORT = re.compile(r"(\d{1,3}):([0-5]\d)", re.ASCII)
_LINE = re.compile(
    r"^\W*video\b\s*:?\s*<?(?P<address>https?://[^\s>)\]]+)>?\W*(?:at|from|ab|bei)?\s*(?P<at>[\d:]*)\W*$", re.I
)
SECONDS = "{seconds}"
KEYS = ("address", "at")


@dataclass(frozen=True)
class Video:
    address: str
    at: str = ""

    @property
    def seconds(self) -> int:
        match = _AT.fullmatch(self.at)
        return int(match[1]) * 3600 + int(match[2]) * 60 + int(match[3]) if match else 0

    @property
    def host(self) -> str:
        return urlsplit(self.address).hostname or ""

    @property
    def link(self) -> str:
        """The address, opened at the moment."""
        if SECONDS in self.address:
            return self.address.replace(SECONDS, str(self.seconds))
        if not self.seconds:
            return self.address
        return f"{self.address}{'&' if urlsplit(self.address).fragment else '#'}t={self.seconds}"


def read_video(table: dict | None) -> Video | None:
    """The video of a row; None where there is none, or one that may not be opened."""
    return None if not table or any(video_rules(table)) else Video(table["address"], table.get("at", ""))


def video_rules(table: dict):
    """What is wrong with a video, as sentences."""
    unknown = [key for key in table if key not in KEYS]
    address, at = table.get("address"), table.get("at", "")
    if unknown:
        yield _("“%(key)s” is not a key of a video. Accepted: address and at.") % {"key": unknown[0][:20]}
    elif not isinstance(address, str) or not isinstance(at, str) or not address:
        yield _("A video needs an address as text, and may have a start time such as 0:04:15.")
    elif not _is_safe(address):
        yield _("A video address begins with https:// and contains no spaces, for example https://host/film.")
    elif at and not _AT.fullmatch(at):
        yield _("“%(at)s” is not a start time. Write hours, minutes and seconds, such as 0:04:15.") % {"at": at[:20]}
    elif SECONDS in address and not at:
        yield _("The address contains {seconds}, so it needs a start time, such as 0:04:15.")


def _is_safe(address: str) -> bool:
    if len(address) > LONGEST or re.search(r"[\s\"'<>\\\x00-\x20\x7f]", address) or not address.startswith("https://"):
        return False
    try:
        parts = urlsplit(address)
        return bool(parts.hostname) and not (parts.username or parts.password) and parts.port in (None, 443)
    except ValueError:
        return False


def video_line(text: str) -> dict | None:
    """The video that a line of a document names, such as "Video: https://host/film 4:15"; None where it is none."""
    match = _LINE.match(text.strip())
    if not match:
        return None
    at, short = match["at"], _SHORT.fullmatch(match["at"])
    if short:
        at = f"{int(short[1]) // 60}:{int(short[1]) % 60:02d}:{short[2]}"
    table = {"address": match["address"]} | ({"at": at} if at else {})
    return None if any(video_rules(table)) else table
