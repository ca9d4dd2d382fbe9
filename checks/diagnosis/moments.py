"""Means and covariances of what builds read, and how far one size of a fault goes to the next."""

import warnings

import numpy as np

from checks.diagnosis.reading_scale import OFFSET, slope

DISCREPANCY = 0.015  # of a reading: what the model itself may be off by (its residuals against data sheets)
SHRINK = 0.9  # of sample correlations, which so few samples exaggerate


def spans(faults, size_row, size_mean):
    """A step to a size's neighbours on the same side of the listed value, over √12."""
    steps = np.zeros_like(size_mean)
    for row in np.unique(size_row):
        at = np.flatnonzero(size_row == row)
        below = np.array([factors[0] < 1 for factors in faults[row - 1].at_sizes()])
        for side in (at[below], at[~below]):
            if len(side) > 1:
                steps[side] = np.gradient(size_mean[side], axis=0) / np.sqrt(12)
    return np.nan_to_num(steps)


def like_healthy(values, healthy, bare):
    """(rows, samples, n): the readings of healthy builds, `values` (samples, n), brought from the nominal reading
    `healthy` (n,) to `bare` (rows, n)."""
    return values * (bare / np.where(healthy == 0, np.nan, healthy))[:, None, :]


def middle(rows):
    """The mean of each column, NaN where it has none."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)
        return np.nanmean(rows, axis=0)


def moments(scaled, units, at_grids):
    """(mean, covariance of good parts and of the model's own doubt) of what builds read, on the scale."""
    mean = np.stack([middle(rows) for rows in scaled])  # a fault without a solution has no readings
    apart = np.nan_to_num(scaled - mean[:, None, :])
    cov = SHRINK * np.einsum("fsi,fsj->fij", apart, apart) / max(1, scaled.shape[1] - 1)
    diagonal = np.arange(cov.shape[1])
    cov[:, diagonal, diagonal] /= SHRINK
    values = np.sinh(mean) * units
    off = np.sqrt((DISCREPANCY * values) ** 2 + (OFFSET * units) ** 2 + at_grids**2) * slope(values, units)
    cov[:, diagonal, diagonal] += np.nan_to_num(off) ** 2
    return mean, cov
