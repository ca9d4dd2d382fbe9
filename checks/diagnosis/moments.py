"""Means and covariances of what builds read, and how far one size of a fault goes to the next."""

import warnings

import numpy as np

from checks.diagnosis.reading_scale import slope

# Of a reading: what the model itself may be off by (its residuals against data sheets). With the power off resistors
# alone are read, whose spread has limits; what is left are leads and a little leakage.
DISCREPANCY, UNPOWERED = 0.015, 0.005
MIDDLE_AWAY = 1.4826  # standard deviations in the median distance from the median, of what is normal
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


def column_means(rows):
    """The mean of each column, NaN where it has none."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)
        return np.nanmean(rows, axis=0)


def deviations(values, at_grids):
    """(n,): standard deviation of what good kits read, `values` (samples, n), and of their grids: by the middle of
    them, so that a few which hardly settle count for nothing."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)
        away = np.nanmedian(np.abs(values - np.nanmedian(values, axis=0)), axis=0)
    return np.hypot(MIDDLE_AWAY * np.nan_to_num(away), at_grids)


def moments(scaled, units, offsets, at_grids, live):
    """(mean, covariance of good parts and of the model's own doubt) of what builds read, on the scale. `offsets` and
    `at_grids` (n,) in SI are what readings may be off by that are no share of them; `live` (n,) are powered."""
    mean = np.stack([column_means(rows) for rows in scaled])  # a fault without a solution has no readings
    apart = np.nan_to_num(scaled - mean[:, None, :])
    cov = SHRINK * np.einsum("fsi,fsj->fij", apart, apart) / max(1, scaled.shape[1] - 1)
    diagonal = np.arange(cov.shape[1])
    cov[:, diagonal, diagonal] /= SHRINK
    values = np.sinh(mean) * units
    share = np.where(live, DISCREPANCY, UNPOWERED)
    off = np.sqrt((share * values) ** 2 + offsets**2 + at_grids**2) * slope(values, units)
    cov[:, diagonal, diagonal] += np.nan_to_num(off) ** 2
    return mean, cov
