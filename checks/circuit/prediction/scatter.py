"""How widely good builds scatter: Monte Carlo over the parts, what drives it, and the worst case.

The band proposed is the middle 95 % of good builds. Which parts set it comes from moving one parameter at a time to its
limits; the worst case is all of those moves at once in the same direction (first order), or the worst build drawn.
"""

from dataclasses import dataclass

import numpy as np

from checks.circuit.netlist.conditions import Condition
from checks.circuit.netlist.network import Network
from checks.circuit.netlist.remark import Remark
from checks.circuit.netlist.signal import TONE
from checks.circuit.prediction.nominal import clipping_remark, solve_nominal
from checks.circuit.prediction.probes import Probe, as_probe, read
from checks.circuit.signals.reading import clipped
from checks.circuit.solver.operating_point import Operating, solve_operating_point
from checks.errors import CallerError, ChecksError
from checks.finite import finite_figures

CHUNK = 1000  # samples at once: small enough for the cache, and memory stays flat
BAND = (2.5, 97.5)
LOST = 0.002  # share of builds that may fail to settle: they are left out, and the band hardly knows of them
VARIANCE = {"rectangular": 1 / 3, "normal": 0.7737 / 4}  # of a half-range of 1; a normal cut at 2 sigma


@finite_figures
@dataclass(frozen=True)
class Driver:
    """One part's share of a reading's variance, and what its low and high ends do to the reading (SI)."""

    ref: str
    what: str
    share: float
    at_low: float
    at_high: float


@finite_figures
@dataclass(frozen=True)
class Scatter:
    """A reading over good builds, in SI: nominal, 95 % band, worst case and the drivers, greatest first.

    All None, with a `reason`, where the model cannot say. `samples` holds the readings of the builds that settled.
    """

    probe: Probe
    nominal: float | None
    low: float | None = None
    high: float | None = None
    worst_low: float | None = None
    worst_high: float | None = None
    drivers: tuple[Driver, ...] = ()
    reason: Remark | None = None
    samples: np.ndarray | None = None


def predict_scatter(parts, condition: Condition, probes, samples: int = 10_000, seed: int = 1) -> list[Scatter]:
    """Scatter of each probe over `samples` good builds drawn with `seed`. Probes and errors as in `predict`."""
    if not 100 <= samples <= 1_000_000:
        raise CallerError("A scatter needs from 100 to 1,000,000 samples.", argument="samples")
    probes = [as_probe(p) for p in probes]
    net, nominal = solve_nominal(parts, condition)
    middle = _readings(net, nominal, probes, net.parameters.nominal())
    middle = [_unclipped(nominal, p, row) for p, row in zip(probes, middle, strict=True)]
    apart = _readings(net, nominal, probes, net.parameters.one_at_a_time())
    drawn = _settled(_readings(net, nominal, probes, net.parameters.draw(samples, seed), strict=False))
    return [_scatter(net, *rows) for rows in zip(probes, middle, apart, drawn, strict=True)]


def _unclipped(nominal: Operating | None, probe: Probe, row: tuple) -> tuple:
    """(None, why) in place of a reading under a tone that clips."""
    clip = (
        clipped(nominal, probe.level, probe.hertz) if probe.under == TONE and nominal and row[0] is not None else None
    )
    return (None, clipping_remark(probe, clip)) if clip else row


def _settled(rows: list[tuple]) -> list[tuple]:
    """The readings of the builds that settled. Raises ChecksError where more than LOST of them did not."""
    lost = max((int(np.isnan(values).sum()) for values, _ in rows if values is not None), default=0)
    count = next((len(values) for values, _ in rows if values is not None), 1)
    if lost > LOST * count:
        raise ChecksError(
            f"The circuit did not settle in {lost} of {count} good builds.",
            argument="parts",
            code="builds-unsettled",
            lost=lost,
            count=count,
        )
    return [(values if values is None else values[~np.isnan(values)], reason) for values, reason in rows]


def _readings(net: Network, nominal: Operating | None, probes, m, strict: bool = True) -> list[tuple]:
    """(readings or None, reason) of each probe for multipliers m, solved in chunks."""
    chunks = [_chunk(net, nominal, probes, m[n : n + CHUNK], strict) for n in range(0, max(len(m), 1), CHUNK)]
    return [
        (None if rows[0][0] is None else np.concatenate([r[0] for r in rows]), rows[0][1])
        for rows in zip(*chunks, strict=True)
    ]


def _chunk(net, nominal, probes, m, strict):
    operating = None
    if not len(m):
        return [(np.zeros(0), None) for _ in probes]  # nothing varies, so nothing is moved by itself
    if nominal is not None:
        operating = solve_operating_point(net, m, line=nominal.line, start=nominal.solution.ports, strict=strict)
    return [read(p, net, operating, m) for p in probes]


def _scatter(net: Network, probe, middle, apart, drawn) -> Scatter:
    values, reason = middle
    if values is None or drawn[0] is None:
        return Scatter(probe, None, reason=reason or drawn[1])
    nominal, (low, high) = float(values[0]), np.percentile(drawn[0], BAND)
    count = len(net.parameters.rows)
    ends = np.stack((apart[0][:count], apart[0][count:])) - nominal if count else np.zeros((2, 0))
    # Where a reading tips over, moves from the middle fall short: no worst case is milder than a build that was drawn.
    least = min(nominal + float(np.minimum(ends, 0).min(axis=0, initial=0).sum()), float(drawn[0].min()))
    most = max(nominal + float(np.maximum(ends, 0).max(axis=0, initial=0).sum()), float(drawn[0].max()))
    return Scatter(probe, nominal, float(low), float(high), least, most, rank_drivers(net, ends), None, drawn[0])


def rank_drivers(net: Network, ends, most: int = 3) -> tuple[Driver, ...]:
    """The parameters with the greatest shares of variance; `ends` (2, parameters) are the readings' moves at low and
    high."""
    rows = net.parameters.rows
    variance = ((ends[1] - ends[0]) / 2) ** 2 * np.array([VARIANCE[p.shape] for p in rows])
    total = float(variance.sum())
    if total <= 0:
        return ()
    best = [n for n in np.argsort(-variance)[:most] if variance[n] > 1e-6 * total]
    return tuple(
        Driver(rows[n].ref, rows[n].what, float(variance[n]) / total, float(ends[0, n]), float(ends[1, n]))
        for n in best
    )
