"""Mean current of one rectifier into its reservoir: the conduction angle, for silicon and for rectifier valves.

Over a cycle the reservoir holds its mean voltage V. Near the peak, while E cos φ > V + drop, current flows through the
source resistance Rs; its mean over the cycle is the rectifier's current at V. For silicon (a fixed drop) that is

    I = E/(π Rs) (sin θ - x θ),   x = (V + drop)/E,   θ = arccos x,

whose solution with a load is tan θ - θ = π Rs/R_L (half-wave): the limit of large ωCR_L of O. H. Schade, "Analysis of
rectifier operation", Proc. IRE 31:341 (July 1943). A valve drops (I/K)^(2/3) (Child's law), so its integral is summed
by Gauss and Legendre's rule. What a finite reservoir takes off is found by `reservoir_share`, from the steady state
itself.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.optimize import brentq

from checks.finite import finite_arguments, finite_figures

SILICON_DROP, SILICON_OHMS = 0.7, 0.15  # V, Ω: 0.72 V at 0.1 A, 0.85 V at 1 A, 1.0 V at 2 A (common practice)
TAKES, LITTLE = {1: 0.9, 2: 0.28}, 2e-3  # of the mean: less than a meter of 0.5 % can tell
POINTS, WEIGHTS = np.polynomial.legendre.leggauss(24)
HALVES = 0.5 * (POINTS + 1)


@finite_figures
@dataclass(frozen=True)
class Law:
    """How a rectifier drops voltage: a fixed `drop` in V, and with `perveance` K (A/V^1.5) Child's law besides. Its
    `ohms` are counted with its source's (banks.py)."""

    drop: float = SILICON_DROP
    perveance: float | None = None
    ohms: float = 0.0


@finite_arguments
def compute_perveance(volts: float, amps: float) -> float:
    """K of I = K V^1.5 from one published drop."""
    return amps / volts**1.5


def in_series(one: Law, other: Law) -> Law:
    """Two rectifiers that one current passes: fixed drops add, and so do (I/K)^(2/3)."""
    k = [law.perveance for law in (one, other) if law.perveance is not None]
    drop, ohms = one.drop + other.drop, one.ohms + other.ohms
    return Law(drop, sum(x ** (-2 / 3) for x in k) ** -1.5 if k else None, ohms)


def mean_current(v, peak, rs, law: Law):
    """(I, dI/dV, source power): mean A of one half-wave rectifier at reservoir volts `v`, its slope, and W from the
    source.

    `peak` in V, `rs` in Ω; floats or arrays of one shape. Two of them, half a cycle apart, make a full-wave rectifier.
    """
    if law.perveance is None:
        return _silicon(v + law.drop, peak, rs)
    return _child(v + law.drop, peak, rs, law.perveance)


def _angle(v, peak):
    safe = np.maximum(peak, 1e-12)
    return v / safe, np.arccos(np.clip(v / safe, -1.0, 1.0))


def _silicon(v, peak, rs):
    x, angle = _angle(v, peak)
    current = peak / (np.pi * rs) * (np.sin(angle) - x * angle)
    power = (
        peak**2 / (2 * np.pi * rs) * (angle - np.cos(angle) * np.sin(angle) + 2 * (np.cos(angle) - x) * np.sin(angle))
    )
    return current, -angle / (np.pi * rs), power


def _child(v, peak, rs, k):
    _, angle = _angle(v, peak)
    phase = angle[..., None] * HALVES if np.ndim(angle) else angle * HALVES
    source = np.asarray(peak)[..., None] * np.cos(phase)
    spare = np.maximum(source - np.asarray(v)[..., None], 0.0)
    current, slope = child_current(spare, np.asarray(rs)[..., None], k)
    share = angle * 0.5 / np.pi
    return (share * (current @ WEIGHTS), -share * (slope @ WEIGHTS), share * ((current * source) @ WEIGHTS))


def child_current(spare, rs, k):
    """(I, dI/dspare) where Rs I + (I/K)^(2/3) = spare: Newton on the cube root of the current, from above."""
    c = k ** (-2 / 3)
    root = np.minimum(np.cbrt(spare / rs), np.sqrt(spare / c))
    for _ in range(6):
        root = root - (rs * root**3 + c * root**2 - spare) / np.maximum(3 * rs * root**2 + 2 * c * root, 1e-30)
        root = np.maximum(root, 0.0)
    return root**3, 3 * root**2 / np.maximum(3 * rs * root**2 + 2 * c * root, 1e-30)


@finite_figures
@dataclass(frozen=True)
class Steady:
    """One cycle of a supply in its steady state: mean, ripple peak to peak and rms in V; peak and mean charging A."""

    mean: float
    ripple_pp: float
    ripple_rms: float
    peak_current: float
    mean_current: float


@finite_arguments
def steady_state(
    peak: float, rs: float, farads: float, load: float, hertz: float, law: Law, phases: int = 2, steps: int = 2000
) -> Steady:
    """The periodic steady state with a resistive load in Ω, over `steps` a cycle.

    Successive cycles are closed by Aitken's rule, so that few are needed. Raises nothing; arguments must be above zero.
    """
    source = peak * np.cos(2 * np.pi * np.arange(steps) / steps)
    source = np.abs(source) if phases == 2 else source
    dt = 1 / hertz / steps
    start = 0.9 * peak * load / (load + rs)
    for _ in range(40):
        first, _ = _cycle(start, source, rs, farads, load, dt, law)
        second, _ = _cycle(first, source, rs, farads, load, dt, law)
        bend = second - 2 * first + start
        closer = start - (first - start) ** 2 / bend if abs(bend) > 1e-12 * peak else second
        if abs(closer - start) < 1e-9 * peak:
            break
        start = closer
    _, (volts, amps) = _cycle(start, source, rs, farads, load, dt, law)
    mean = float(volts.mean())
    return Steady(mean, float(np.ptp(volts)), float(volts.std()), float(amps.max()), float(amps.mean()))


def _cycle(start, source, rs, farads, load, dt, law):
    """One cycle from `start`: (voltage at its end, (volts, amps)). Each step is the exact exponential of the step's
    tangent."""
    volts, amps, v = np.empty(len(source)), np.empty(len(source)), float(start)
    middles = 0.5 * (source + np.roll(source, -1))
    for n, e in enumerate(middles):
        flow, slope = _flow(e - v, rs, law)
        leak = slope + 1 / load
        moved = -math.expm1(-dt * leak / farads) * (flow - v / load) / leak
        volts[n], amps[n] = v + moved / 2, max(flow - slope * moved / 2, 0.0)
        v += moved
    return v, (volts, amps)


def _flow(spare, rs, law) -> tuple[float, float]:
    """(current, its slope) at `spare` volts between source and reservoir."""
    if law.perveance is None:
        return (max(spare - law.drop, 0.0) / rs, 1 / rs if spare > law.drop else 0.0)
    if spare <= 0:
        return 0.0, 0.0
    return _child_at(max(spare - law.drop, 0.0), rs, law.perveance ** (-2 / 3))


def _child_at(spare: float, rs: float, c: float) -> tuple[float, float]:
    """`child_current` for one float, without the cost of arrays; `c` is K^(-2/3)."""
    root = min(math.cbrt(spare / rs), math.sqrt(spare / c))
    for _ in range(6):
        root = max(root - (rs * root**3 + c * root**2 - spare) / max(3 * rs * root**2 + 2 * c * root, 1e-30), 0.0)
    return root**3, 3 * root**2 / max(3 * rs * root**2 + 2 * c * root, 1e-30)


@lru_cache(maxsize=256)
@finite_arguments
def reservoir_share(peak: float, rs: float, farads: float, load: float, hertz: float, law: Law, phases: int) -> float:
    """Mean voltage with the real reservoir over that with an endless one at the same current, for a load in Ω.

    1 where it is surely within LITTLE of that. What a reservoir takes off goes as (ωCR_L)^-2 (Rs/R_L)^-0.8, about, as
    worked out from `steady_state` for ωCR_L of 20 to 500 and Rs/R_L of 0.001 to 0.1; the figures in TAKES are on the
    safe side there.
    """
    if TAKES[phases] * (2 * np.pi * hertz * farads * load) ** -2 * (rs / load) ** -0.8 < LITTLE:
        return 1.0
    real = steady_state(peak, rs, farads, load, hertz, law, phases).mean
    endless = brentq(
        lambda v: phases * float(mean_current(np.float64(v), np.float64(peak), np.float64(rs), law)[0]) - real / load,
        0.0,
        peak,
    )
    return real / endless
