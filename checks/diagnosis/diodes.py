"""Where an ohmmeter with enough volts of its own finds its way through a good diode, and what one does that is the
wrong way round."""

import numpy as np

from checks.diagnosis.codes import FaultCode
from checks.diagnosis.reading_scale import from_scale, to_scale
from checks.diagnosis.supply_faults import THROUGH as MIDDLE
from checks.diagnosis.supply_faults import THROUGH_DECADES

THROUGH = 3.0  # standard deviations of a good kit, by which a way through a diode shows
# Of what is in the diode's way, the least that it counts for itself: a meter has 3 V at most, its diode keeps half a
# volt of them, and no more than a milliampere flows (common practice).
LEAST_SHARE, LEAST_OHMS = 0.2, 500.0
TOLERANCE = 0.1  # by which parts in the way, and the meter, may be low
REVERSED = (FaultCode.DIODE_REVERSED, FaultCode.DIODE_TURNED, FaultCode.ZENER_REVERSED)


def read_through_diodes(faults, solved, mean, scatter, size_row, size_mean, units):
    """((n,) where an ohmmeter may find its way through a good diode, (n,) the least that it then reads, on the scale).
    One that is the wrong way round blocks there."""
    through, least = np.zeros(mean.shape[1], dtype=bool), mean[0].copy()
    deviation = np.sqrt(np.einsum("ii->i", scatter[0]))
    for row, fault in enumerate(faults, start=1):
        if fault.code not in REVERSED or row not in size_row:
            continue
        ref, at = fault.refs[0], np.flatnonzero(size_row == row)
        forward = np.concatenate([one.turned_on.get(ref, np.zeros(len(one.places), bool)) for one in solved])
        moved = np.nan_to_num(np.abs(size_mean[at] - mean[0])).max(axis=0) > THROUGH * deviation
        through |= forward & moved
        lowest = np.nan_to_num(size_mean[at], nan=np.inf).min(axis=0)
        ohms = least_ohms_through(*(from_scale(np.where(forward & moved, x, 1.0), units) for x in (mean[0], lowest)))
        least = np.where(forward & moved, np.minimum(least, to_scale(ohms * (1 - TOLERANCE), units)), least)
        size_mean[np.ix_(at, forward)] = mean[0, forward]
    return through, least


def least_ohms_through(healthy, lowest):
    """Ω that an ohmmeter reads at the least where a good diode conducts: of a point that reads `healthy` without it,
    and `lowest` with the least barrier that the list looks at."""
    barrier = MIDDLE * 10.0**-THROUGH_DECADES
    with np.errstate(divide="ignore", invalid="ignore"):
        in_the_way = np.maximum(1 / (1 / lowest - 1 / healthy) - barrier, 0.0)
        return 1 / (1 / healthy + 1 / (in_the_way + np.maximum(LEAST_SHARE * in_the_way, LEAST_OHMS)))
