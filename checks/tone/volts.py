"""What follows from volts read under a test tone: power, gain, impedance, damping, bandwidth, hum, matching.

Uncertainties go through by JCGM 100:2008, 5.1.2 (first order, inputs independent). Terms as in IEC 60268-3.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from checks.derived import Estimate, propagate
from checks.errors import ChecksError
from checks.finite import real_arguments
from checks.tone.decibels import decibels


def _above_zero(argument: str, *quantities: Estimate) -> None:
    if any(known.value <= 0 for known in quantities):
        raise ChecksError("This needs readings above zero.", argument=argument, code="above zero", quantity=argument)


def power_in_load(volts: Estimate, load: Estimate) -> Estimate:
    """Watts of RMS volts across a load in ohms."""
    _above_zero("volts", volts)
    _above_zero("load", load)
    return propagate(lambda v, r: v * v / r, volts, load)


def gain(output: Estimate, source: Estimate) -> Estimate:
    """Voltage gain in decibels."""
    _above_zero("volts", output, source)
    return propagate(lambda out, into: decibels(out / into), output, source)


def after_pad(volts: Estimate, series: Estimate, across: Estimate) -> Estimate:
    """RMS volts at an input that stands behind a resistor in series and one across it, from those before both."""
    _above_zero("pad", series, across)
    return propagate(lambda v, r1, r2: v * r2 / (r1 + r2), volts, series, across)


def level_below(part: Estimate, whole: Estimate) -> Estimate:
    """How far `part` (hum, say) lies below `whole` (full output), in decibels, above zero when it is smaller."""
    _above_zero("volts", part, whole)
    return propagate(lambda small, large: decibels(large / small), part, whole)


def channel_difference(left: Estimate, right: Estimate) -> Estimate:
    """Left over right in decibels: the balance of two channels, or of a pair of valves."""
    return gain(left, right)


def input_impedance(direct: Estimate, through: Estimate, series: Estimate) -> Estimate:
    """Ohms of an input from the volts behind it, or at it, without a resistor in series with the source and with it.

    Raises ChecksError when the volts do not fall.
    """
    _above_zero("volts", direct, through)
    _above_zero("series", series)
    if through.value >= direct.value:
        raise ChecksError("The volts do not fall.", argument="through", code="volts do not fall")
    return propagate(lambda v0, v, r: r * v / (v0 - v), direct, through, series)


@dataclass(frozen=True)
class LoadedVolts:
    """RMS volts across a load in ohms; no load is None."""

    volts: Estimate
    load: Estimate | None = None


def output_impedance(light: LoadedVolts, heavy: LoadedVolts) -> Estimate:
    """Ohms from the volts on two loads at one input, `heavy` the lower resistance.

    Raises ChecksError when both loads are the same, or the volts do not fall as they must.
    """
    if heavy.load is None or (light.load and light.load.value <= heavy.load.value):
        raise ChecksError("The second load must be the lower resistance.", argument="heavy", code="same load")
    _above_zero("volts", light.volts, heavy.volts)
    if light.volts.value < heavy.volts.value:
        raise ChecksError("The volts rise with the heavier load.", argument="heavy", code="volts rise")
    if light.load is None:
        return propagate(lambda v0, v, r: r * (v0 - v) / v, light.volts, heavy.volts, heavy.load)

    def ohms(v1, r1, v2, r2):
        return (v1 - v2) / (v2 / r2 - v1 / r1)

    if heavy.volts.value / heavy.load.value <= light.volts.value / light.load.value:
        raise ChecksError("The current falls with the heavier load.", argument="heavy", code="current falls")
    return propagate(ohms, light.volts, light.load, heavy.volts, heavy.load)


def damping_from_loads(light: LoadedVolts, heavy: LoadedVolts) -> Estimate:
    """The heavier load over the output impedance. That load's own error is in both, and is counted once."""
    impedance = output_impedance(light, heavy)
    load = heavy.load or Estimate(0.0)
    _above_zero("load", load, impedance)
    if light.load is None:
        return propagate(lambda v0, v: v / (v0 - v), light.volts, heavy.volts)
    return propagate(
        lambda v1, r1, v2, r2: r2 * (v2 / r2 - v1 / r1) / (v1 - v2), light.volts, light.load, heavy.volts, load
    )


@dataclass(frozen=True)
class ResponsePoint:
    """Output volts at one frequency in hertz, the input held constant."""

    hertz: float
    volts: Estimate

    def __post_init__(self):
        if not (math.isfinite(self.hertz) and self.hertz > 0):
            raise ChecksError("A frequency lies above zero.", argument="hertz", code="frequency")


@dataclass(frozen=True)
class BandEdges:
    """Where a response has fallen by `drop` decibels, in hertz; None where it has not within the points."""

    drop: float
    low: Estimate | None
    high: Estimate | None


@real_arguments
def band_edges(points: Sequence[ResponsePoint], drop: float, reference: float = 1000.0) -> BandEdges:
    """The edges at which the response is `drop` dB below that at `reference` hertz, interpolated on the log axis.

    Raises ChecksError with fewer than two points, two at one frequency, or a reference outside the points.
    """
    points = sorted(points, key=lambda point: point.hertz)
    if len({point.hertz for point in points}) < max(2, len(points)):
        raise ChecksError("A response needs two or more frequencies, each once.", argument="points", code="points")
    if not points[0].hertz <= reference <= points[-1].hertz:
        raise ChecksError("The reference lies outside the response.", argument="reference", code="reference outside")
    _above_zero("volts", *(point.volts for point in points))
    volts = [point.volts for point in points]
    hertz = [point.hertz for point in points]
    edges = []
    for side in (-1, 1):
        crossing = _crossing(hertz, [v.value for v in volts], drop, reference, side)
        edges.append(None if crossing is None else _edge_with_uncertainty(hertz, volts, drop, reference, side))
    return BandEdges(drop, *edges)


def _edge_with_uncertainty(hertz, volts, drop, reference, side) -> Estimate:
    edge_hertz = _crossing(hertz, [v.value for v in volts], drop, reference, side)
    missed = []

    def edge(*values):
        other = _crossing(hertz, values, drop, reference, side)
        missed.append(other is None)
        return edge_hertz if other is None else other

    known = propagate(edge, *volts)
    to_below, to_above = _beside(hertz, known.value, reference)
    read = known.value * (to_below + to_above) if any(missed) else known.u  # but for a little it is not reached
    bend = 10 ** (-drop / 20) * to_below * to_above
    return Estimate(known.value, math.hypot(read, known.value * bend / math.sqrt(3)))


def _beside(hertz, edge: float, reference: float) -> tuple[float, float]:
    """The distances of an edge from the points on both sides of it, as logarithms.

    A straight line between two points lies beside the curve by half the product of the two, times how much its slope
    changes. That of two networks of the first order which have fallen by d dB together changes by 2·10^(-d/20) times
    itself for each e in frequency, that of one by less. Within that the line's edge lies from the curve's.
    """
    points = (*hertz, reference)
    below, above = max(f for f in points if f <= edge), min(f for f in points if f >= edge)
    return math.log(edge / below), math.log(above / edge)


@real_arguments
def interpolate_decibels(hertz: Sequence[float], levels: Sequence[float], at: float) -> float:
    """The level in dB at a frequency, on straight lines over the logarithm of frequency."""
    for (f1, y1), (f2, y2) in zip(
        zip(hertz, levels, strict=True), list(zip(hertz, levels, strict=True))[1:], strict=False
    ):
        if f1 <= at <= f2:
            return y1 + (y2 - y1) * math.log(at / f1) / math.log(f2 / f1)
    raise ChecksError("The frequency lies outside the response.", argument="at", code="reference outside")


def _crossing(hertz, volts, drop, reference, side) -> float | None:
    levels = [decibels(v) for v in volts]
    target = interpolate_decibels(hertz, levels, reference) - drop
    order = range(len(hertz)) if side > 0 else range(len(hertz) - 1, -1, -1)
    points = [(hertz[i], levels[i]) for i in order if (hertz[i] - reference) * side > 0]
    before = (reference, target + drop)
    for point in points:
        if point[1] < target <= before[1]:
            share = (before[1] - target) / (before[1] - point[1])
            return before[0] * (point[0] / before[0]) ** share
        before = point
    return None
