"""Touch limits, discharge times and stored energy."""

import math

from checks.errors import ChecksError

# IEC 62368-1:2018, table 4: class 1 electrical energy sources (ES1), steady state.
TOUCH_DC = 60.0
TOUCH_AC_RMS = 30.0
TOUCH_AC_PEAK = 42.4
ES2_DC, ES2_AC_RMS = 120.0, 50.0


def discharge_seconds(ohms: float, farads: float, start_volts: float, end_volts: float = TOUCH_DC) -> float:
    """t = RC ln(V0/V), in seconds; 0 when already below. Raises ChecksError for values that are not above zero."""
    for name, value in (("ohms", ohms), ("farads", farads), ("end_volts", end_volts)):
        if not (math.isfinite(value) and value > 0):
            raise ChecksError(f"A discharge time needs {name} above zero.", argument=name)
    return max(0.0, ohms * farads * math.log(abs(start_volts) / end_volts)) if start_volts else 0.0


def stored_energy(farads: float, volts: float) -> float:
    """½CV², in joules."""
    if farads < 0:
        raise ChecksError("A capacitance is zero or more.", argument="farads")
    return farads * volts**2 / 2


def energy_class(*, dc_volts: float = 0.0, ac_volts_rms: float = 0.0) -> str:
    """ES1, ES2 or ES3 of a node by its steady voltage (IEC 62368-1:2018, table 4)."""
    if abs(dc_volts) <= TOUCH_DC and ac_volts_rms <= TOUCH_AC_RMS:
        return "ES1"
    return "ES2" if abs(dc_volts) <= ES2_DC and ac_volts_rms <= ES2_AC_RMS else "ES3"
