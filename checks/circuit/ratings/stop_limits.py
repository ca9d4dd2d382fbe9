"""Stop limits from ratings: past which reading a part right at the probes is over what it is made for.

Direct current and direct volts are judged by capacitors across the probes, by a valve's anode and screen volts, by the
dissipation of a resistor the reading is taken across, by the cathode current a cathode resistor tells (of a valve whose
sheet limits none, by its watts), and at heaters.
Alternating volts are judged at heaters, at windings and by the dissipation of a resistor they are read across. A limit
says nothing of whether a good build keeps within it: whoever uses one compares it with the band first.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

from checks.circuit.netlist.parts import PartSpec, require_figure
from checks.circuit.netlist.terminals import SECTIONS
from checks.circuit.netlist.wires import CHASSIS
from checks.circuit.prediction.probes import Probe
from checks.circuit.ratings.bounds import node_at
from checks.circuit.valves.heaters import heater_pieces
from checks.circuit.valves.types import find_limits
from checks.finite import refuse_unreal

WINDING_EXCESS = 1.4  # of rated volts: more than regulation and high mains give, less than a wrong tap (assumed)
HEATER_EXCESS = 1.25  # of rated heater volts: above what high mains and an unloaded winding make together (assumed)
DISSIPATION_EXCESS = 2.5  # of a valve's watts at its highest anode volts, where no sheet limits its current (assumed)


class LimitOf(StrEnum):
    """Which rating sets a limit."""

    CAPACITOR_VOLTS = "capacitor volts"
    ANODE_VOLTS = "anode volts"
    SCREEN_VOLTS = "screen volts"
    DISSIPATION = "dissipation"
    CATHODE_CURRENT = "cathode current"
    VALVE_DISSIPATION = "valve dissipation"
    HEATER_VOLTS = "heater volts"
    WINDING_VOLTS = "winding volts"
    TOUCH = "touch"  # no part's: what may be touched, at a point that carries only signals


@dataclass(frozen=True)
class RatedLimit:
    """A reading in SI past which `ref` is over a rating; `sign` is 1 for "above" and -1 for "below"."""

    value: float
    sign: int
    ref: str
    of: LimitOf

    def __post_init__(self):
        refuse_unreal(self, "value")


@dataclass(frozen=True)
class StopLimits:
    """The nearest limits from ratings, above and below; None where no rating says anything."""

    above: RatedLimit | None = None
    below: RatedLimit | None = None


def stop_limits_from_ratings(parts: Iterable[PartSpec], probe: Probe) -> StopLimits:
    """The stop limits of one powered check, from `parts` (the fitted ones). Empty for readings without power."""
    by_ref = {part.ref: part for part in parts}
    red, black = node_at(by_ref, probe.red), node_at(by_ref, probe.black)
    rows = list(_limits(by_ref, red, black, probe)) if red != black else []
    above = min((r for r in rows if r.sign > 0), key=lambda r: r.value, default=None)
    below = max((r for r in rows if r.sign < 0), key=lambda r: r.value, default=None)
    return StopLimits(above, below)


def _limits(parts: dict[str, PartSpec], red: str, black: str, probe: Probe) -> Iterator[RatedLimit]:
    if probe.measure == "ac volts":
        for part in parts.values():
            yield from _heater(part, {red, black})
            yield from _windings(part, {red, black})
        across = (limit for limit in _resistors(parts, red, black) if limit.of is LimitOf.DISSIPATION)
        yield from (limit for limit in across if limit.sign > 0)
        return
    if probe.measure not in ("dc volts", "current"):
        return
    volts = list(_resistors(parts, red, black))
    if probe.measure == "current":
        ohms = [p.value for p in parts.values() if p.kind == "resistor" and {*p.joins.values()} == {red, black}]
        if len(ohms) == 1:
            yield from (
                RatedLimit(limit.value / require_figure(ohms[0]), limit.sign, limit.ref, limit.of) for limit in volts
            )
        return
    yield from volts
    for part in parts.values():
        yield from _capacitor(part, red, black)
        yield from _valve(part, red, black)
        for limit in _heater(part, {red, black}):  # one fed with direct current, either way round
            yield from (limit, replace(limit, value=-limit.value, sign=-1))


def _capacitor(part: PartSpec, red: str, black: str) -> Iterator[RatedLimit]:
    ends = tuple(part.joins.values())
    if part.kind not in ("capacitor", "electrolytic") or not part.volts or {*ends} != {red, black}:
        return
    if part.kind == "capacitor" or ends[0] == red:
        yield RatedLimit(part.volts, 1, part.ref, LimitOf.CAPACITOR_VOLTS)
    if part.kind == "capacitor" or ends[0] == black:
        yield RatedLimit(-part.volts, -1, part.ref, LimitOf.CAPACITOR_VOLTS)


def _valve(part: PartSpec, red: str, black: str) -> Iterator[RatedLimit]:
    """Anode and screen to cathode; from the chassis too, which errs on the careful side by the cathode's own volts."""
    for section in _sections(part):
        cathode = part.joins[f"{section}cathode"]
        for electrode, of in (("anode", LimitOf.ANODE_VOLTS), ("screen", LimitOf.SCREEN_VOLTS)):
            limit = find_limits(part.type, part.limits, part.kind).get(f"{electrode}_volts")
            if limit and part.joins.get(section + electrode) == red and black in (cathode, CHASSIS):
                yield RatedLimit(limit, 1, part.ref, of)


def _sections(part: PartSpec) -> list[str]:
    """The beginnings of the names of a valve's terminals: [""] for one section, ["a.", "b."] for two."""
    if part.kind == "rectifier valve":
        return []
    return [f"{section}." if section else "" for section in SECTIONS.get(part.kind, ())]


def _resistors(parts: dict[str, PartSpec], red: str, black: str) -> Iterator[RatedLimit]:
    across = [p for p in parts.values() if p.kind == "resistor" and {*p.joins.values()} == {red, black}]
    for part in across:
        if part.power:
            volts = math.sqrt(part.power * require_figure(part.value))
            yield RatedLimit(volts, 1, part.ref, LimitOf.DISSIPATION)
            yield RatedLimit(-volts, -1, part.ref, LimitOf.DISSIPATION)
    if len(across) == 1:
        yield from _cathode_currents(parts, require_figure(across[0].value), red, black)


def _cathode_currents(parts: dict[str, PartSpec], ohms: float, red: str, black: str) -> Iterator[RatedLimit]:
    """Of the valves whose cathodes one resistor carries to the chassis: what all of them may pass."""
    carried = [p for p in parts.values() for s in _sections(p) if p.joins[f"{s}cathode"] == red]
    most = [_most_amps(find_limits(p.type, p.limits, p.kind)) for p in carried]
    if black == CHASSIS and most and all(amps for amps, _of in most):
        of = next((of for _amps, of in most if of is LimitOf.VALVE_DISSIPATION), LimitOf.CATHODE_CURRENT)
        yield RatedLimit(sum(amps for amps, _of in most) * ohms, 1, carried[0].ref, of)


def _most_amps(limits: dict) -> tuple[float, LimitOf]:
    """What a cathode may pass, and what says so: its sheet, else the watts of anode and screen."""
    if limits.get("cathode_milliamps"):
        return 1e-3 * limits["cathode_milliamps"], LimitOf.CATHODE_CURRENT
    watts = limits.get("anode_watts", 0.0) + limits.get("screen_watts", 0.0)
    volts = limits.get("anode_volts", 0.0)
    return (DISSIPATION_EXCESS * watts / volts if volts else 0.0), LimitOf.VALVE_DISSIPATION


def _windings(part: PartSpec, ends: set[str]) -> Iterator[RatedLimit]:
    """A whole winding, or one half of a tapped one; `volts` are those of each half."""
    for winding in part.windings:
        if not winding.volts:
            continue
        first, last = winding.nodes[0], winding.nodes[-1]
        if ends == {first, last}:
            halves = len(winding.nodes) - 1
        elif len(winding.nodes) == 3 and ends in ({first, winding.nodes[1]}, {winding.nodes[1], last}):
            halves = 1
        else:
            continue
        yield RatedLimit(WINDING_EXCESS * winding.volts * halves, 1, part.ref, LimitOf.WINDING_VOLTS)


def _heater(part: PartSpec, ends: set[str]) -> Iterator[RatedLimit]:
    for piece in heater_pieces(part):
        if {piece.a, piece.b} == ends:
            yield RatedLimit(HEATER_EXCESS * piece.volts, 1, part.ref, LimitOf.HEATER_VOLTS)
