"""Heaters as the resistances they have at the volts they get: a hot heater's current goes as I ~ V^0.6.

A heater on its own winding hardly moves from its rating. In a series string it does: a heater that is given more than
its rated volts resists more and takes more again, so that a division by rated resistances is too mild. The exponent is
common practice (valve makers' application notes give a heater's current against its volts about so, from half to
one and a half times its rating); towards no volts at all the resistance falls to the cold one.
"""

from dataclasses import dataclass

import numpy as np

from checks.circuit.netlist.network import COLD, Network

CURRENT_EXPONENT = 0.6
OHMS_EXPONENT = 1 - CURRENT_EXPONENT
NOMINAL_STEP, SAMPLES_STEP = 1e-5, 0.03  # share of a heater's ohms below which another round is not worth it
ROUNDS = 30


@dataclass(frozen=True)
class Heater:
    """One valve's heater: the nodes of its pieces, the volts each is rated for, and its parameter."""

    ref: str
    ends: tuple[tuple[int, int], ...]
    rated: float
    parameter: int


def list_heaters(net: Network) -> tuple[Heater, ...]:
    by_source: dict[str, list] = {}
    for r in net.resistives:
        if r.rated_volts:
            by_source.setdefault(r.ref, []).append(r)
    return tuple(
        Heater(ref, tuple((r.a, r.b) for r in rows), rows[0].rated_volts, rows[0].parameter)
        for ref, rows in by_source.items()
    )


def heater_volts(heater: Heater, volts, ac):
    """rms volts (samples,) on a piece of a heater, the mean of its pieces; alternating and direct taken together. DC
    that is not calculated counts as none: what heats a valve there is its winding."""
    piece_volts = [np.hypot(np.nan_to_num(volts[:, a] - volts[:, b]), ac[:, a] - ac[:, b]) for a, b in heater.ends]
    return np.mean(piece_volts, axis=0)


def hot_multipliers(net: Network, m, volts, ac):
    """m (samples, parameters + 1) with each heater's ohms as they are at the volts it gets; m where volts are NaN."""
    hot = m.copy()
    for heater in list_heaters(net):
        share = heater_volts(heater, volts, ac) / heater.rated
        factor = np.maximum(np.nan_to_num(share, nan=1.0) ** OHMS_EXPONENT, 1 / COLD)
        hot[:, heater.parameter] = m[:, heater.parameter] * factor
    return hot
