"""Serial numbers and references in the order people count them: build 9 comes before build 10, R2 before R10."""

import re


def natural(serial: str) -> tuple:
    """A key to sort serial numbers by: runs of figures count as numbers, the rest as letters whatever their case.
    Serials that differ only in case or in leading zeros still have an order."""
    parts = re.split(r"([0-9]+)", serial)  # letters at even places, figures at odd ones
    return tuple(int(part) if n % 2 else part.casefold() for n, part in enumerate(parts)), serial
