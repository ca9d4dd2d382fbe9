"""The last way to settle: let node voltages drift towards what the circuit wants, in steps that grow.

Every node gets a capacitance C, and C dV/dt = -F(V), F = G V - Q i(P V), is followed from 0 V by implicit Euler steps,
(C/h + G - Q D P) move = -F: short ones at first, longer as the circuit calms down, until a step is Newton's own. A step
is taken only where currents turn out as its slopes foretold. What saturates (regulators, op-amps) has no slope to tell
Newton's method where to go, and a long step leaps over the narrow range where it works; drifting voltages come to that
range and stay there. (Pseudo-transient continuation: C. T. Kelley and D. E. Keyes, SIAM J. Numer. Anal. 35:508, 1998.)
"""

import numpy as np

FIRST, LAST = 1e-3, 1e6  # steps, in time constants of each node's own conductance
GROW, SHRINK = 2.0, 0.25
TRUE = 0.4  # share of the largest move, by which the currents found may move any node otherwise
LEAST_SIEMENS, LEAST_VOLTS = 1e-6, 1e-12
STEPS = 500


def relax(laws, g, p, q):
    """Node voltages (samples, nodes) near a solution, for conductances `g` (samples, nodes, nodes), P and Q.

    `laws(u)` gives (i, D) of all samples' devices at port voltages u.
    """
    volts = np.zeros(g.shape[:2])
    held = np.maximum(np.einsum("snn->sn", g), LEAST_SIEMENS)
    eye, h = np.eye(g.shape[1]), np.full(len(g), FIRST)
    out, slopes = _outflow(laws, g, p, q, volts)
    for _ in range(STEPS):
        if (h >= LAST).all():
            break
        charge = held / h[:, None]
        move = np.linalg.solve(eye * charge[..., None] + g - q @ slopes @ p, -out[..., None])[..., 0]
        missed, steep = _outflow(laws, g, p, q, volts + move)
        wrong = np.abs(missed / charge + move).max(axis=1, initial=0.0)
        good = wrong <= TRUE * np.abs(move).max(axis=1, initial=0.0) + LEAST_VOLTS
        volts[good] += move[good]
        out[good], slopes[good] = missed[good], steep[good]
        h = np.where(good, h * GROW, np.maximum(h * SHRINK, 1e-15))
    return volts


def _outflow(laws, g, p, q, volts):
    """(F, D) at node voltages."""
    i, slopes = laws(volts @ p.T)
    return np.einsum("snk,sk->sn", g, volts) - i @ q.T, slopes
