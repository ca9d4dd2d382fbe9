"""Figures of points that a meter's load changes, in a file that does not say with which meter they were read."""

from django.utils.translation import gettext as _

from checks.band import parse_band
from checks.errors import ChecksError
from checks.measures import find_measure
from checks.quantity import parse_quantity

COMMON_INPUT = 10e6  # Ω, of a digital voltmeter (common practice)
OF_BAND = 0.25  # of a band's half-width, from which a meter's load matters
FIGURES = ("expected", "band", "low", "high", "at_least", "at_most", "stop_above", "stop_below")


def unstated_meter_warnings(stages: list[dict]):
    """Yield (stage key, check key, message) where the file's own source resistance makes a meter's load matter."""
    for stage in stages:
        for row in stage.get("check", []) if stage.get("power") == "on" else ():
            share = _share_low(row)
            if share:
                message = _(
                    "a meter of 10 MΩ reads %(share)d %% low here. If the figure was read with a meter, give its input "
                    "resistance as read_with."
                ) % {"share": round(100 * share)}
                yield stage["key"], row["key"], message


def _share_low(row: dict) -> float | None:
    """How far a common meter reads below the point's own volts; None where that does not matter, or is said."""
    given = str(row.get("expected", "")).strip().lower()
    is_computed = "model" in (given, row.get("figure_from"))
    if is_computed or row.get("read_with") or not row.get("source_resistance"):
        return None
    try:
        ohms = parse_quantity(str(row["source_resistance"]), "Ω").number
        figures = {name: str(row.get(name, "")) for name in FIGURES}
        band = parse_band(unit=find_measure(row["measure"]).unit, **figures)
    except ChecksError:
        return None  # told by the rules
    middle, half = band.expected or band.low or band.high or 0.0, band.half_width
    matters = find_measure(row["measure"]).unit == "V" and half and abs(middle) * ohms / COMMON_INPUT > half * OF_BAND
    return ohms / COMMON_INPUT if matters else None
