"""A-weighting by the analogue formula of IEC 61672-1:2013, annex E."""

import numpy as np

POLES = (20.598997, 107.65265, 737.86223, 12194.217)  # hertz, double, single, single, double
AT_1000 = -1.9996555  # dB of the bare formula at 1 kHz


def a_weighting_power(hertz) -> np.ndarray:
    """The factor of power, of the shape of `hertz`."""
    square = np.asarray(hertz, dtype=float) ** 2
    f1, f2, f3, f4 = (f * f for f in POLES)
    bare = f4**2 * square**4 / ((square + f1) ** 2 * (square + f2) * (square + f3) * (square + f4) ** 2)
    return bare * 10 ** (-AT_1000 / 10)
