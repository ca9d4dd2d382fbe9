"""Where an ohmmeter with enough volts of its own finds its way through a good diode, and what one does that is the
wrong way round."""

import numpy as np

from checks.diagnosis.codes import FaultCode

THROUGH = 3.0  # standard deviations of a good kit, by which a way through a diode shows
REVERSED = (FaultCode.DIODE_REVERSED, FaultCode.ZENER_REVERSED)


def through_diodes(faults, solved, mean, scatter, size_row, size_mean):
    """(n,): where an ohmmeter may find its way through a good diode. One that is the wrong way round blocks there."""
    through = np.zeros(mean.shape[1], dtype=bool)
    deviation = np.sqrt(np.einsum("ii->i", scatter[0]))
    for row, fault in enumerate(faults, start=1):
        if fault.code not in REVERSED or row not in size_row:
            continue
        ref, at = fault.refs[0], np.flatnonzero(size_row == row)
        forward = np.concatenate([one.turned_on.get(ref, np.zeros(len(one.places), bool)) for one in solved])
        moved = np.nan_to_num(np.abs(size_mean[at] - mean[0])).max(axis=0) > THROUGH * deviation
        through |= forward & moved
        size_mean[np.ix_(at, forward)] = mean[0, forward]
    return through
