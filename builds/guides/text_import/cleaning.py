"""Characters that a word processor puts in and nobody sees, taken out before anything is read."""

import re
from unicodedata import normalize

# Zero-width and direction marks (Unicode Cf), soft hyphens, and byte order marks.
_UNSEEN = re.compile("[\u00ad\u200b-\u200f\u202a-\u202e\u2060-\u2064\u2066-\u2069\ufeff]")
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
_HYPHENS = str.maketrans({"\u2010": "-", "\u2011": "-"})  # hyphen and non-breaking hyphen


def clean(text: str) -> str:
    return normalize("NFC", _CONTROL.sub(" ", _UNSEEN.sub("", text)).translate(_HYPHENS))
