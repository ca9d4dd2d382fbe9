"""A part's value as people write it: what a spreadsheet has as 1000000 is 1 MΩ on a page and in the papers."""

import re

from checks.codes import parse_part_value
from checks.errors import ChecksError

OF_OHMS = ("resistor", "potentiometer", "thermistor", "test resistor")
_BARE = re.compile(r"\d+(?:[.,]\d+)?|\d{4,}(?:[.,]\d+)?\s*[kK]?\s*(?:Ω|[Oo]hms?)?")


def written_value(kind: str, text: str) -> str:
    """A bare number of ohms, and one of four figures or more, with its prefix and unit; any other value as typed."""
    if kind not in OF_OHMS or not _BARE.fullmatch(text.strip()):
        return text
    try:
        ohms = parse_part_value(text.strip(), "Ω").number
    except ChecksError:
        return text
    size, prefix = next((pair for pair in ((1e6, "M"), (1e3, "k")) if ohms >= pair[0]), (1.0, ""))
    number = f"{ohms / size:.9g}"
    return f"{number.replace('.', ',') if ',' in text else number} {prefix}Ω"
