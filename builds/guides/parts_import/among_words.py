"""What a row says of a part only in words."""

import re

_SHARE = re.compile(r"(?<![\d.,+/–-])±?\s*(0[.,]1|0[.,]25|0[.,]5|1|2|5|10|20)\s*%")  # those of IEC 60062
_MATCHED = re.compile(r"match|pair|gepaart|paar|selekt|select|ausgesucht|within|of the|vom |von ", re.IGNORECASE)
_FUSE_AMPS = re.compile(r"(?<![\d.,])(\d+(?:[.,]\d+)?\s*m?A)(?![A-Za-z])")
RATED_WITH_SHARE = ("resistor", "capacitor", "electrolytic", "test resistor")


def add_from_words(part: dict, text: str) -> None:
    """What a row says of a part only in words: "Metal film, 1 %" is a tolerance, "Feinsicherung T 630 mA" a value."""
    shares = set() if _MATCHED.search(text) else {share.replace(",", ".") for share in _SHARE.findall(text)}
    if part["kind"] in RATED_WITH_SHARE and "tolerance" not in part and len(shares) == 1:
        part["tolerance"] = f"{shares.pop()}%"
    amps = set(_FUSE_AMPS.findall(text))
    if part["kind"] == "fuse" and "value" not in part and len(amps) == 1:
        part["value"] = amps.pop()
