"""The colour bands of a resistor, from its value and tolerance (IEC 60062)."""

from checks.codes import colour_bands
from checks.errors import ChecksError
from checks.quantity import parse_quantity, parse_tolerance


def list_colours(part) -> tuple[str, ...]:
    """Colour names of a part with `kind`, `value` and `tolerance`, first band first; empty for what carries none."""
    if part.kind != "resistor" or not part.value:
        return ()
    try:
        percent = 100 * parse_tolerance(part.tolerance or "20%").plus
        return colour_bands(parse_quantity(part.value, "Ω").number, percent, bands=5 if percent <= 2 else 4)
    except ChecksError:
        return ()
