"""Words in the letters that a short name may have."""

import unicodedata

_SPELLED = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "ß": "ss", "æ": "ae", "ø": "oe", "å": "aa", "ł": "l"})


def in_plain_letters(text: str) -> str:
    """Lower case without accents: "Prüfung" is "pruefung"."""
    spelled = unicodedata.normalize("NFC", text).lower().translate(_SPELLED)
    return "".join(c for c in unicodedata.normalize("NFKD", spelled) if not unicodedata.combining(c))


def as_key(text: str, most: int = 50) -> str:
    """A short name from words and places: "Rö1.6" is "roe1-6". It may be empty."""
    plain = in_plain_letters(text.strip())
    return "".join(c if c.isascii() and c.isalnum() else "-" for c in plain).strip("-")[:most].strip("-")
