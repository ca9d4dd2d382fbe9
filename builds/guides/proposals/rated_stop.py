"""The stop limit that is proposed for a check: the nearest rating, or the usual sign of a fault."""

import math
from dataclasses import dataclass

from builds.guides.proposals.candidates import RAIL_VOLTS, RESERVOIR, Candidate
from checks.circuit import Probe, stop_limits_from_ratings
from checks.circuit.netlist.wires import CHASSIS
from checks.circuit.ratings.stop_limits import LimitOf, RatedLimit
from checks.quantity import format_quantity

GRID_STOP = 10.0  # V: a grid so far above its leak's foot has a leaking capacitor before it (common practice)
BYPASSED = 5e3  # Ω to chassis, up to which a capacitor across it holds a cathode and no B+ (common practice)
BIASED = 5.0  # V below the chassis, from which a grid's bias is what holds a power valve back (common practice)
BIAS_LOST = (
    0.5  # of the bias: a power valve that has lost half of it passes several times its current (common practice)
)
ROOM = 1.02  # of the highest good reading, below which a rating is no stop limit but an objection
NOTHING = 0.05  # V; a reading so near zero is zero (common practice: offsets)


@dataclass(frozen=True)
class RatedStop:
    """`key` and `text` as the guide file has them; `value` in SI; `ref` sets it, "" where practice does."""

    key: str
    text: str
    value: float
    ref: str
    is_past: bool = False  # do good readings come up to it?


def rated_parts(specs, stage: dict, measure: str) -> list:
    """The parts whose ratings hold: those fitted, and for heater volts every valve that the sockets are wired for."""
    away = set() if measure == "ac volts" else {*(stage.get("not_fitted") or ())}
    return [spec for spec in specs if spec.ref not in away]


def rated_stop(specs, candidate: Candidate, low: float, high: float, unit: str) -> RatedStop | None:
    """The nearest rating above (or below, for a negative reading) readings from `low` to `high`. For a grid the usual
    sign of a leaking capacitor or a lost bias; else, on the supply, what its capacitors stand."""
    limits = stop_limits_from_ratings(specs, Probe(*candidate.probe[:3], candidate.through))
    if candidate.is_grid and candidate.black == CHASSIS and high < GRID_STOP / ROOM:
        return _grid_stop(limits.above, high, unit)
    is_negative = high < NOTHING and low < -NOTHING
    limit = limits.below if is_negative else limits.above
    if candidate.measure == "dc volts" and candidate.black == CHASSIS and not is_negative:
        limit = _within_supply(limit, specs, high)
    if limit is None:
        return None
    key = "stop_below" if is_negative else "stop_above"
    is_past = abs(low if is_negative else high) * ROOM >= abs(limit.value)
    value = _towards_zero(limit.value)
    return RatedStop(key, format_quantity(value, unit), value, limit.ref, is_past)


def _grid_stop(rating: RatedLimit | None, high: float, unit: str) -> RatedStop:
    """A grid hurts its valve by going up, whatever its leak would stand either way."""
    if rating and high * ROOM < rating.value < GRID_STOP:
        value = _towards_zero(rating.value)
        return RatedStop("stop_above", format_quantity(value, unit), value, rating.ref)
    value = BIAS_LOST * high if high <= -BIASED else GRID_STOP
    return RatedStop("stop_above", format_quantity(value, unit, 2), value, "")


def _within_supply(limit: RatedLimit | None, specs, high: float) -> RatedLimit | None:
    """What a resistor would dissipate says little where the supply's own capacitors stand less."""
    if limit and limit.of is not LimitOf.DISSIPATION:
        return limit
    supply = _supply_stands(specs)
    if limit is None or supply is None:
        return limit or supply
    return supply if high * ROOM < supply.value < limit.value else limit


def _supply_stands(specs) -> RatedLimit | None:
    """The least rating of the supply's capacitors, and whose it is. One across a cathode resistor is none of them,
    nor one of a negative supply."""
    bypassed = {
        node
        for spec in specs
        if spec.kind in ("resistor", "potentiometer")
        and CHASSIS in spec.joins.values()
        and (spec.value or 0) <= BYPASSED
        for node in spec.joins.values()
    } - {CHASSIS}
    held = [
        (spec.volts, spec.ref)
        for spec in specs
        if spec.kind in ("electrolytic", "capacitor")
        and CHASSIS in spec.joins.values()
        and spec.joins.get("plus") != CHASSIS
        and not bypassed & {*spec.joins.values()}
        and (spec.volts or 0) >= RAIL_VOLTS
        and (spec.value or 0) >= RESERVOIR
    ]
    if not held:
        return None
    volts, ref = min(held)
    return RatedLimit(volts, 1, ref, LimitOf.CAPACITOR_VOLTS)


def _towards_zero(value: float) -> float:
    """Three figures, never past the rating."""
    step = 10.0 ** (math.floor(math.log10(abs(value))) - 2)
    return math.trunc(value / step + math.copysign(1e-9, value)) * step
