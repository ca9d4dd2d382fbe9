"""The frequency at which a check's AC volts are read, as far as the guide says it."""

from builds.guides.guide_file.figure_sources import read_formula
from builds.guides.models import Check
from checks.circuit import stated_signal
from checks.meter import MeterSpec


def find_hertz(check: Check) -> float | None:
    """Of a check of AC volts: of the tone that is fed in, or in the response worked out from it; None for the mains."""
    stated = stated_signal(check.signal)
    if stated is not None:
        return stated.hertz if stated.signal.into else None
    for row in check.stage.checks.all():
        formula = read_formula(row) if row.formula and check.key in row.formula.get("of", ()) else None
        if formula and formula.hertz:
            return formula.hertz[formula.of.index(check.key)]
    return None


def find_doubt(reading) -> float:
    """The ± of a reading that its meter's manual leaves open at this frequency; 0 for what no meter read."""
    check = reading.check_row
    if check.measure != "ac volts" or reading.true_value is None or not reading.meter_spec:
        return 0.0
    return abs(reading.true_value) * MeterSpec.from_dict(reading.meter_spec).frequency_doubt(find_hertz(check))
