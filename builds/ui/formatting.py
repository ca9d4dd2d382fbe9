"""Figures as pages and papers write them."""

from checks.quantity import format_quantity

NOTHING = 1e-9  # of any unit: what arithmetic leaves of nothing


def figure_words(value: float, unit: str) -> str:
    """A figure in engineering notation with a true minus; what is nothing but for rounding is "0 V"."""
    return f"0 {unit}".rstrip() if abs(value) < NOTHING else format_quantity(value, unit).replace("-", "−")
