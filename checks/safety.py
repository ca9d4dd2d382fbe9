"""Touch limits, stored energy and classes of energy sources."""

import math

from checks.errors import CallerError
from checks.meter import Measurement

# IEC 62368-1:2018, table 4: class 1 and class 2 electrical energy sources (ES1, ES2), steady state.
TOUCH_DC = 60.0
TOUCH_AC_RMS = 30.0
ES2_DC, ES2_AC_RMS = 120.0, 50.0


def is_safe_to_touch(measurement: Measurement) -> bool:
    """Is a DC voltage below the touch limit, whatever the meter's accuracy and the digits left off may hide? At the
    limit itself it is not."""
    if measurement.value is None:
        return False
    half = measurement.share + measurement.counts + measurement.step / 2
    return max(abs(measurement.value), abs(measurement.raw or 0.0)) + half < TOUCH_DC


def stored_energy(farads: float, volts: float) -> float:
    """½CV², in joules."""
    if not (math.isfinite(farads) and farads >= 0):
        raise CallerError("A capacitance is zero or more.", argument="farads")
    if not math.isfinite(volts):
        raise CallerError("A stored energy needs a known voltage.", argument="volts")
    return farads * volts**2 / 2


def energy_class(*, dc_volts: float = 0.0, ac_volts_rms: float = 0.0) -> str:
    """ES1, ES2 or ES3 of a node by its steady voltage (IEC 62368-1:2018, table 4).

    AC on top of DC counts with it: U_dc/limit_dc + U_ac/limit_ac may not pass 1 (same table, combined AC and DC; from
    memory). Raises ChecksError for a voltage that is no number, or an AC voltage below zero.
    """
    if not math.isfinite(dc_volts):
        raise CallerError("A DC voltage is a finite number.", argument="dc_volts")
    if not (math.isfinite(ac_volts_rms) and ac_volts_rms >= 0):
        raise CallerError("An RMS voltage is a finite number, zero or more.", argument="ac_volts_rms")
    for name, dc, ac in (("ES1", TOUCH_DC, TOUCH_AC_RMS), ("ES2", ES2_DC, ES2_AC_RMS)):
        if abs(dc_volts) / dc + ac_volts_rms / ac <= 1:
            return name
    return "ES3"
