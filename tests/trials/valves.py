"""Valve laws of the trials: Child and Langmuir's three-halves power of an effective voltage, through published points.

Triode:  E = vgk + vak/mu + contact, Ia = K E^1.5. A point with its transconductance gives E: gm = 1.5 Ia/E.
Pentode: E = vgk + vsk/mu_s + vak/mu_a + contact, Ik = K E^1.5, shared by anode and screen with a knee in vak.
E goes through a soft corner of `soft` volts: near cut-off a valve lets go slowly, as mu varies along the grid
(the "island effect"). Every law gives its derivatives too, for Newton's method.
"""

import math
from dataclasses import dataclass, replace


def soft_corner(x: float, width: float) -> tuple[float, float]:
    """max(x, 0) with a rounded corner, and its slope."""
    t = x / width
    if t > 30:
        return x, 1.0
    if t < -30:
        return 0.0, 0.0
    e = math.exp(t)
    return width * math.log1p(e), e / (1 + e)


def three_halves(x: float, width: float) -> tuple[float, float]:
    """x^1.5 above the corner, and its slope."""
    s, slope = soft_corner(x, width)
    root = math.sqrt(s)
    return s * root, 1.5 * root * slope


def knee(v: float, volts: float) -> tuple[float, float]:
    """From 0 at v = 0 to 1 well above `volts`, and its slope."""
    p, slope = soft_corner(v, 0.5)
    e = math.exp(-p / volts)
    return 1 - e, e / volts * slope


GRID_PERVEANCE, GRID_ONSET, GRID_SOFT = (
    5e-4,
    -0.3,
    0.1,
)  # a grid near its cathode's volts is a small diode; common practice


def grid_current(vg: float) -> tuple[float, float]:
    """Grid current of a hard valve, and its slope."""
    i, d = three_halves(vg - GRID_ONSET, GRID_SOFT)
    return GRID_PERVEANCE * i, GRID_PERVEANCE * d


@dataclass(frozen=True)
class Triode:
    perveance: float
    mu: float
    contact: float
    soft: float
    gas: float = 0.0  # grid ions per anode electron

    def currents(self, va: float, vg: float):
        """(Ia, Ig) and ((dIa/dva, dIa/dvg), (dIg/dva, dIg/dvg))."""
        s, ds = three_halves(vg + va / self.mu + self.contact, self.soft)
        f, df = knee(va, 3.0)
        ia, dva, dvg = self.perveance * s * f, self.perveance * (ds * f / self.mu + s * df), self.perveance * ds * f
        ig, dig = grid_current(vg)
        return (ia, ig - self.gas * ia), ((dva, dvg), (-self.gas * dva, dig - self.gas * dvg))

    def scaled(self, strength: float = 1.0, mu: float = 1.0, gas: float = 0.0):
        return replace(self, perveance=self.perveance * strength, mu=self.mu * mu, gas=gas)


@dataclass(frozen=True)
class Pentode:
    perveance: float
    mu: float  # of the screen
    mu_anode: float
    contact: float
    soft: float
    share: float  # of the cathode's current that reaches the anode above its knee
    knee_volts: float
    gas: float = 0.0

    def currents(self, va: float, vs: float, vg: float):
        """(Ia, Is, Ig) and their slopes against (va, vs, vg)."""
        e, de = three_halves(vg + vs / self.mu + va / self.mu_anode + self.contact, self.soft)
        k, by = (
            self.perveance * e,
            (self.perveance * de / self.mu_anode, self.perveance * de / self.mu, self.perveance * de),
        )
        f, df = knee(va, self.knee_volts)
        g, dg = knee(vs, 5.0)
        ia, a = k * self.share * f, [self.share * f * d for d in by]
        a[0] += k * self.share * df
        rest = 1 - self.share * f
        i_s, s = k * rest * g, [rest * g * d for d in by]
        s[0] -= k * self.share * df * g
        s[1] += k * rest * dg
        ig, dig = grid_current(vg)
        grid = [-self.gas * d for d in a]
        grid[2] += dig
        return (ia, i_s, ig - self.gas * ia), (tuple(a), tuple(s), tuple(grid))

    def scaled(self, strength: float = 1.0, mu: float = 1.0, gas: float = 0.0):
        return replace(self, perveance=self.perveance * strength, mu=self.mu * mu, gas=gas)


def triode_through(va, vg, ia, gm, mu, soft) -> Triode:
    """The law through one published point with its transconductance."""
    effective = 1.5 * ia / gm
    return Triode(ia / effective**1.5, mu, effective - vg - va / mu, soft)


def pentode_through(va, vs, vg, ia, i_s, gm, ra, mu, soft, knee_volts) -> Pentode:
    whole = ia + i_s
    effective = 1.5 * whole / (gm * whole / ia)
    mu_anode = gm * ra
    return Pentode(
        whole / effective**1.5,
        mu,
        mu_anode,
        effective - vg - vs / mu - va / mu_anode,
        soft,
        ia / whole / (1 - math.exp(-va / knee_volts)),
        knee_volts,
    )


# Published points. ECC83: RCA 12AX7-A (10-60), GE ET-T509B and Philips ECC83 (5-5-1960), which agree. ECC82, 6SN7:
# the usual 250 V points; ECC81: RCA 12AT7. EL34: Philips, class A, 250 V. EL84: Philips, 250 V and -7.3 V. 6V6GT:
# 250 V and -12.5 V; its screen's mu, which no sheet gives, is chosen to meet its 180 V point too.
POINTS = {
    "ECC83": {"va": 250, "vg": -2, "ia": 1.2e-3, "gm": 1.6e-3, "mu": 100, "soft": 0.1},
    "ECC82": {"va": 250, "vg": -8.5, "ia": 10.5e-3, "gm": 2.2e-3, "mu": 17, "soft": 0.6},
    "ECC81": {"va": 250, "vg": -2, "ia": 10e-3, "gm": 5.5e-3, "mu": 60, "soft": 0.2},
    "6SN7": {"va": 250, "vg": -8, "ia": 9e-3, "gm": 2.6e-3, "mu": 20, "soft": 0.5},
    "EL84": {
        "va": 250,
        "vs": 250,
        "vg": -7.3,
        "ia": 48e-3,
        "i_s": 5.5e-3,
        "gm": 11.3e-3,
        "ra": 38e3,
        "mu": 19,
        "soft": 0.5,
        "knee_volts": 18,
    },
    "EL34": {
        "va": 250,
        "vs": 265,
        "vg": -13.5,
        "ia": 100e-3,
        "i_s": 14.9e-3,
        "gm": 11e-3,
        "ra": 15e3,
        "mu": 11,
        "soft": 1.5,
        "knee_volts": 18,
    },
    "6V6GT": {
        "va": 250,
        "vs": 250,
        "vg": -12.5,
        "ia": 45e-3,
        "i_s": 4.5e-3,
        "gm": 4.1e-3,
        "ra": 50e3,
        "mu": 8.4,
        "soft": 1.0,
        "knee_volts": 16,
    },
}
LAWS = {name: (pentode_through if "vs" in point else triode_through)(**point) for name, point in POINTS.items()}
# Volts and amperes of heaters, per valve (a twin with a centre: of both halves); makers' sheets.
HEATERS = {
    "ECC83": (6.3, 0.3),
    "ECC82": (6.3, 0.3),
    "ECC81": (6.3, 0.3),
    "6SN7": (6.3, 0.6),
    "EL34": (6.3, 1.5),
    "EL84": (6.3, 0.76),
    "6V6GT": (6.3, 0.45),
    "EZ81": (6.3, 1.0),
}
RECTIFIERS = {"EZ81": 150e-3 / 19**1.5}  # about 19 V across an anode at 150 mA; from memory of its curve


def emission(ratio: float) -> float:
    """Share of its current that a cathode gives at this fraction of its heater's volts. Common practice."""
    return min(1.0, max(0.0, (ratio - 0.45) / 0.4))
