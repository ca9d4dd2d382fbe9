"""Figures as guide files write them, read once more by other code than the site's."""

import re

SCALE = {"": 1.0, "p": 1e-12, "n": 1e-9, "u": 1e-6, "µ": 1e-6, "m": 1e-3, "R": 1.0, "k": 1e3, "M": 1e6}
_PLAIN = re.compile(r"([-+]?\d+(?:\.\d+)?)\s*([pnuµmkMR]?)\s*(?:V|A|W|H|F|ohm|Ω)?")
_INSIDE = re.compile(r"(\d+)([pnuµkMR])(\d+)")


def figure(text: str) -> float:
    """1k5, 4k7, 0.5R, 22n, 6.8 V, 160 mA as a number. Raises ValueError."""
    text = str(text).strip()
    if inside := _INSIDE.fullmatch(text):
        whole, unit, rest = inside.groups()
        return float(f"{whole}.{rest}") * SCALE[unit]
    plain = _PLAIN.fullmatch(text)
    if not plain:
        raise ValueError(f"{text!r} is no figure")
    return float(plain[1]) * SCALE[plain[2]]


def percent(text: str) -> float:
    """5%, or the larger side of -20/+50%, as a fraction. Raises ValueError."""
    matches = re.findall(r"[-+]?\d+(?:\.\d+)?", text)
    if not matches or not text.strip().endswith("%"):
        raise ValueError(f"{text!r} is no tolerance")
    return max(abs(float(x)) for x in matches) / 100


def limits(check: dict) -> tuple[float | None, float | None]:
    """Low and high end of a check's band; None where there is none."""
    low = figure(check["low"]) if "low" in check else figure(check["at_least"]) if "at_least" in check else None
    high = figure(check["high"]) if "high" in check else figure(check["at_most"]) if "at_most" in check else None
    if "band" in check:
        middle, part = figure(check["expected"]), percent(check["band"])
        return middle - abs(middle) * part, middle + abs(middle) * part
    return low, high
