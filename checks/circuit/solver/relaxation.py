"""The last way to settle: let port voltages drift towards what the circuit wants, in steps that grow.

With F(u) = u - Z i(u), du/dt = -F(u) is followed by implicit Euler steps, (1 + 1/h - Z D) move = F, so short at first
that no voltage moves by more than a little, and longer as the circuit calms down, until a step is Newton's own. What
saturates (regulators, op-amps) has no slope to tell Newton's method where to go, and a long step leaps over the narrow
range where it works; drifting voltages come to that range and stay. (Pseudo-transient continuation: C. T. Kelley and
D. E. Keyes, SIAM J. Numer. Anal. 35:508, 1998.)
"""

import numpy as np

FIRST, LAST = 1e-3, 1e7  # time steps, in time constants of the iteration itself
GROW, SHRINK = 2.0, 0.25
NEAR, SHARE = 0.25, 0.1  # V, and share of the highest port voltage, that one step may move a port by
WORSE = 2.0  # times the error, with which a step is taken back
STEPS = 600


def relax(laws, z, u):
    """Port voltages (samples, ports) towards a solution, from `u`. `laws(u)` gives (i, D) of all samples' devices."""
    u = u.copy()
    eye, h = np.eye(u.shape[1]), np.full(len(u), FIRST)
    i, slopes = laws(u)
    error = u - np.einsum("spc,sc->sp", z, i)
    for _ in range(STEPS):
        if (h >= LAST).all():
            break
        jacobian = eye * (1 + 1 / h)[:, None, None] - z @ slopes
        tried = u - np.linalg.solve(jacobian, error[..., None])[..., 0]
        amps, slope = laws(tried)
        missed = tried - np.einsum("spc,sc->sp", z, amps)
        good = _gentle(u, tried) & (_size(missed) <= WORSE * _size(error) + 1e-9)
        u[good], slopes[good], error[good] = tried[good], slope[good], missed[good]
        h = np.where(good, h * GROW, np.maximum(h * SHRINK, 1e-12))
    return u


def _gentle(u, tried):
    with np.errstate(invalid="ignore"):
        return _size(tried - u) <= NEAR + SHARE * _size(u)


def _size(values):
    return np.abs(values).max(axis=1, initial=0.0)
