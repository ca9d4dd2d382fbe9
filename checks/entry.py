"""What a builder types beside a unit button, and the slip of a thousand that a meter's range invites."""

import re
from dataclasses import replace

from checks.quantity import Quantity, format_quantity

SHOWN = {"Ω": ("Ω", "kΩ", "MΩ"), "V": ("V", "mV")}  # units that meters show, the plain one first
_BARE = re.compile(r"[-+−–]?(?:\d+[.,]?\d*|[.,]\d+)")


def is_bare(text: str) -> bool:
    """Is this a number without prefix or unit? "4k7", "285 V" and "OL" say their own."""
    return bool(_BARE.fullmatch(str(text).strip()))


def needs_unit(text: str) -> bool:
    """Is this a bare number other than zero, which could be of any prefix?"""
    return is_bare(text) and bool(text.strip().strip("+-−–0.,"))


def in_unit(text: str, shown: str) -> str:
    """The entry with the unit its meter showed; an entry that says its own unit, or is in the plain one, stays as it
    is."""
    return f"{str(text).strip()} {shown}" if shown not in ("", "Ω", "V") and is_bare(text) else text


def with_unit(text: str, unit: str) -> str:
    """A kept entry for reading: "12" -> "12 V"; one that says its own unit stays as it is."""
    return f"{str(text).strip()} {unit}" if unit and is_bare(text) else str(text)


def unit_for(low: float | None, high: float | None, expected: float | None, unit: str) -> str:
    """The unit a good reading is shown in, to be chosen beforehand; empty where the builder must look at the meter.

    Ohms are chosen only for a band with two ends no more than twice apart: there a prefix mistaken by a thousand cannot
    land in band by chance. Where "at least" is asked, it would turn a short circuit into a pass. Volts start plain:
    millivolts chosen beforehand could hide a voltage past its stop limit.
    """
    if unit != "Ω":
        return unit if unit in SHOWN else ""
    if low is None or high is None or not 0 < low <= high <= 2 * low:
        return ""
    return format_quantity(expected if expected else (low + high) / 2, unit).partition(" ")[2]


def thousand_slip(quantity: Quantity, is_out, is_in) -> Quantity | None:
    """The reading that was probably meant: a thousand times more or less, where this one is out and that one is in.

    `is_out` and `is_in` judge a Quantity. A caller with stop limits counts a stop as not out: nothing may delay it.
    """
    if quantity.over_range or not quantity.value or not is_out(quantity):
        return None
    step = quantity.resolution or 0.0
    scaled = (replace(quantity, value=quantity.value * f, resolution=step * f) for f in (1e3, 1e-3))
    return next((meant for meant in scaled if is_in(meant)), None)
