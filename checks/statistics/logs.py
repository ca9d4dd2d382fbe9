"""Sums of numbers kept as logarithms."""

import numpy as np


def log_sum(logs, axis: int = 0) -> np.ndarray:
    """Log of the sum along an axis. Plain, since a guide's checks ask for thousands of short ones."""
    logs = np.asarray(logs)
    top = np.maximum(logs.max(axis=axis, keepdims=True), -1e300)  # all of them impossible: minus infinity, not NaN
    with np.errstate(divide="ignore"):
        return np.squeeze(top, axis=axis) + np.log(np.exp(logs - top).sum(axis=axis))
