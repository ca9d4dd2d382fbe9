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
    sign of a leaking capacitor; else, on the supply, what its capacitors stand."""
    limits = stop_limits_from_ratings(specs, Probe(*candidate.probe[:3], candidate.through))
    is_negative = high < NOTHING and low < -NOTHING
    limit = limits.below if is_negative else limits.above
    if limit is None and not is_negative and candidate.black == CHASSIS:
        if candidate.is_grid and high < GRID_STOP / ROOM:
            return RatedStop("stop_above", format_quantity(GRID_STOP, "V", 2), GRID_STOP, "")
        limit = _supply_stands(specs) if candidate.measure == "dc volts" else None
    if limit is None:
        return None
    key = "stop_below" if is_negative else "stop_above"
    is_past = abs(low if is_negative else high) * ROOM >= abs(limit.value)
    value = _towards_zero(limit.value)
    return RatedStop(key, format_quantity(value, unit), value, limit.ref, is_past)


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
