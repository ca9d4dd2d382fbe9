"""What a check can measure: its unit, what the meter shows, and which figure of the meter's accuracy page counts.

The one table of quantities. Their names in a reader's language are in builds/ui/messages/quantities.py.
"""

from dataclasses import dataclass

from checks.errors import ChecksError


@dataclass(frozen=True)
class Measure:
    """`shows` is the unit on the meter (a current is read as the volts across a known resistor), `accuracy` the field
    of MeterSpec, "" where common meters' figures are taken; `kind` says whether AC or DC may follow an entry."""

    code: str
    unit: str
    shows: str
    accuracy: str = ""
    kind: str = ""
    is_signed: bool = False  # a good meter may show it below zero
    is_ohms: bool = False


MEASURES = {
    m.code: m
    for m in (
        Measure("dc volts", "V", "V", "dc_volts", "dc", is_signed=True),
        Measure("ac volts", "V", "V", "ac_volts", "ac"),
        Measure("resistance", "Ω", "Ω", "ohms", is_ohms=True),
        Measure("continuity", "Ω", "Ω", "ohms", is_ohms=True),
        Measure("isolation", "Ω", "Ω", "ohms", is_ohms=True),
        Measure("current", "A", "V", "dc_volts", "dc", is_signed=True),
        Measure("temperature", "°C", "°C", is_signed=True),
        Measure("frequency", "Hz", "Hz"),
    )
}
UNITS = {code: measure.unit for code, measure in MEASURES.items()}
OHMS = tuple(code for code, measure in MEASURES.items() if measure.is_ohms)
SIGNED = tuple(code for code, measure in MEASURES.items() if measure.is_signed)


def measure_of(code: str) -> Measure:
    """Raises ChecksError for what no check measures."""
    if code not in MEASURES:
        raise ChecksError(f"A meter does not measure “{code}” here.", argument="function", code="measure", measure=code)
    return MEASURES[code]
