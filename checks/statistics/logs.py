"""Sums of numbers kept as logarithms."""

import numpy as np


def log_sum(logs, axis: int = 0) -> np.ndarray:
    """Log of the sum along an axis; minus infinity where all of them are impossible. In one step, since a guide's
    checks ask for thousands of short ones."""
    return np.logaddexp.reduce(logs, axis=axis)
