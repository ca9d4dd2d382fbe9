"""The base of a valve as lists name it: a noval is B9A, a rimlock B8A. Names of IEC 60067 bases by common practice."""

import re

NAMES = (
    (r"magnoval|b9d", ""),  # not a noval, and none that is drawn
    (r"noval|b9a|(?:9|nine)[- ]pin miniature", "B9A"),
    (r"b7g|(?:7|seven)[- ]pin miniature|miniatur(?: |-)?7", "B7G"),
    (r"loctal|loktal|b8g", "loctal"),
    (r"o[ck]tal", "octal"),
    (r"rimlock|b8a", "B8A"),
    (r"ux[- ]?4|(?:4|four)[- ]pin ux|(?:4|four)[- ]pin american", "UX4"),
)


def named_base(text: str) -> str:
    """The base that words name; "" where they name none that is drawn, or leave a doubt about a cap on top."""
    base_named = next((base for pattern, base in NAMES if re.search(rf"\b(?:{pattern})", text, re.IGNORECASE)), "")
    return "" if re.search(r"\b(?:top )?cap\b|anodenkappe|kappe", text, re.IGNORECASE) else base_named
