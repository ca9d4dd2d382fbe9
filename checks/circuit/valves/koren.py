"""Anode and screen current of triodes and pentodes with their slopes, in whole arrays: Koren's equations.

N. Koren, "Improved vacuum tube models for SPICE simulations", Glass Audio 8(5), 1996:

    triode   E1 = (Va/kp) ln(1 + exp(kp (1/mu + (Vg + vct)/sqrt(kvb + Va²))));     Ia = 2 E1^ex / kg1
    pentode  E1 = (Vs/kp) ln(1 + exp(kp (1/mu + Vg/Vs)));   Ia = 2 (E1^ex / kg1) atan(Va/kvb)
    screen   Is = (Vs/mu + Vg)^exs / kg2, without the factor 2

The screen so written ends sharply at Vg = -Vs/mu, where a real one goes on with its anode, and does not know of the
anode. Sets with a `fall` use instead

    screen   Is = (E1^ex / kg2) (E1/Vs)^(exs - ex) (2 Vs/(Va + Vs))^fall

with the pentode's own E1: screen current dies away with the anode's, its share depends on the grid's volts over the
screen's (which direct the electrons), and falls as the anode takes more of them. The form is empirical; exs and fall
are fitted. Towards 0 V at the anode screen current rises, though less than a real one's.

The 2 is his 1 + sgn(E1). Parameter sets made for code without it have kg1 half as large. The screen's exponent is the
anode's in his library and 3/2 in the article; a set may carry its own. All voltages are against the cathode, in V; A.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import expit

from checks.errors import ChecksError

GRID_PERVEANCE = 5e-4  # A/V^1.5 of a grid driven positive: coarse, it only keeps solutions physical (assumed)
GRID_ENERGY = 0.1  # V: kT/e of an oxide cathode at some 1,100 K
GRID_SPREAD = 1.5 * GRID_ENERGY  # V: the current is the 1.5th power of what is spread by this
LEAST = 1e-9
MOST_FALL = 4.0  # steeper than any published pair of points
SCREEN_KNEE = (
    10.0  # V of the screen within which its current dies (assumed; above 50 V it is Koren's to eleven figures)
)


@dataclass(frozen=True)
class Koren:
    """One parameter set; kg2 and exs are None for triodes. Raises ChecksError for values the equations cannot take."""

    mu: float
    ex: float
    kg1: float
    kp: float
    kvb: float
    vct: float = 0.0
    kg2: float | None = None
    exs: float | None = None
    fall: float | None = None

    def __post_init__(self):
        for name in ("mu", "ex", "kg1", "kp", "kvb", "kg2", "exs"):
            value = getattr(self, name)
            if value is not None and not value > 0:
                raise ChecksError(
                    f"A valve's {name} must be above zero, not {value}.",
                    argument=name,
                    code="valve-parameter",
                    name=name,
                )
        if self.fall is not None and not 0 <= self.fall <= MOST_FALL:
            raise ChecksError(
                f"A valve's fall is from 0 to {MOST_FALL:g}, not {self.fall}.",
                argument="fall",
                code="valve-fall",
                most=MOST_FALL,
            )


def softplus(x):
    """ln(1 + exp(x)), without overflow."""
    return np.logaddexp(0.0, x)


def triode_current(k: Koren, va, vg):
    """(Ia, dIa/dVa, dIa/dVg) in A and A/V; arrays of one shape or floats."""
    forward = np.asarray(va) > 0
    va = np.maximum(va, 0) + LEAST
    root = np.sqrt(k.kvb + va**2)
    x = k.kp * (1 / k.mu + (vg + k.vct) / root)
    soft, slope = softplus(x), expit(x)
    e1 = va / k.kp * soft
    by_va = soft / k.kp - va * slope * (vg + k.vct) * va / root**3
    by_vg = va * slope / root
    current = 2 * e1**k.ex / k.kg1
    steep = 2 * k.ex * (e1 + 1e-300) ** (k.ex - 1) / k.kg1
    return current, steep * by_va * forward, steep * by_vg


def pentode_current(k: Koren, va, vs, vg):
    """((Ia, by Va, by Vs, by Vg), (Is, by Va, by Vs, by Vg)) in A and A/V."""
    up, lit = np.asarray(va) > 0, np.asarray(vs) > 0
    va, vs = np.maximum(va, 0) + LEAST, np.maximum(vs, 0) + LEAST
    x = k.kp * (1 / k.mu + np.clip(vg / vs, -1e6, 1e6))
    soft, slope = softplus(x), expit(x)
    e1 = vs / k.kp * soft
    bend = np.arctan(va / k.kvb)
    by_vs, by_vg = (soft / k.kp - slope * vg / vs) * lit, slope  # of e1
    base = 2 * e1**k.ex / k.kg1
    steep = 2 * k.ex * (e1 + 1e-300) ** (k.ex - 1) / k.kg1 * bend
    anode = (base * bend, base * k.kvb / (k.kvb**2 + va**2) * up, steep * by_vs, steep * by_vg)
    if k.fall is None:
        return anode, screen_current(k, vs, vg, lit)
    return anode, _falling_screen(k, (va, up), (vs, lit), (e1, by_vs, by_vg))


def _falling_screen(k: Koren, anode, screen, drive):
    """(Is, by Va, by Vs, by Vg) of a set with a `fall`, from (Va, is it above 0), (Vs, is it) and (E1 and slopes)."""
    (va, up), (vs, lit), (e1, by_vs, by_vg) = anode, screen, drive
    exs = k.exs or k.ex
    near, near_slope = _knee(vs)
    share = (2 * vs / (va + vs)) ** k.fall
    scale = vs ** (k.ex - exs) / k.kg2 * share
    free = e1**exs * scale
    current, steep = free * near, exs * (e1 + 1e-300) ** (exs - 1) * scale * near
    by_share = current * ((k.ex - exs) + k.fall * va / (va + vs)) / vs
    return (
        current,
        -current * k.fall / (va + vs) * up,
        steep * by_vs + (by_share + free * near_slope) * lit,
        steep * by_vg,
    )


def _knee(vs):
    """(share of a screen's current left near 0 V, its slope by Vs)."""
    far = np.exp(-((vs / SCREEN_KNEE) ** 2))
    return 1 - far, 2 * vs / SCREEN_KNEE**2 * far


def screen_current(k: Koren, vs, vg, lit=True):
    """Koren's own (Is, by Va, by Vs, by Vg), which does not depend on the anode.

    It would draw current at no volts of its own once the grid is positive, and so deliver power: near 0 V it is
    multiplied by 1 - exp(-(Vs/10)²).
    """
    drive = np.maximum(vs / k.mu + vg, 0)
    exs = k.exs or k.ex
    current = drive**exs / k.kg2
    rate = exs * (drive + 1e-300) ** (exs - 1) / k.kg2 * (drive > 0)
    near, near_slope = _knee(vs)
    return (
        current * near * lit,
        np.zeros_like(drive),
        (rate / k.mu * near + current * near_slope) * lit,
        rate * near * lit,
    )


def grid_current(vg, contact=0.0):
    """(Ig, dIg/dVg) of a grid at `vg` V against its cathode, with `contact` V added to it.

    Electrons leave a hot cathode with some speed and land on a grid that is a little negative: below about 0 V the
    current falls by a factor e every GRID_ENERGY V, above it rises as a diode's. Through 10 MΩ that holds a grid at
    some -0.6 V (grid-leak or contact bias, -0.5 V to -1 V by common practice); at -1.3 V some 0.1 nA are left.
    """
    x = (vg + contact) / GRID_SPREAD
    over = GRID_SPREAD * softplus(x)
    return GRID_PERVEANCE * over**1.5, 1.5 * GRID_PERVEANCE * np.sqrt(over) * expit(x)
