"""What follows from readings: currents, dissipations, heater power, each with its uncertainty and against the valve's
limit.

Uncertainties go through by JCGM 100:2008, 5.1.2 (first order, inputs taken as independent; readings of one meter share
some of their error, which makes quotients better and products a little worse than said).
"""

import math
from dataclasses import dataclass, replace
from enum import StrEnum

from checks.circuit.netlist.parts import PartSpec
from checks.circuit.netlist.terminals import SECTIONS, VALVES
from checks.circuit.valves.types import find_heater, find_limits
from checks.errors import CallerError
from checks.finite import refuse_unreal
from checks.meter import standard_uncertainty
from checks.verdict import IN_AT, OUT_AT, conformance

CHASSIS = "chassis"
HEATER_VOLTS = "heater volts"  # what a heater's figures are worked out from
SURE = 0.25  # a current less sure than this, as a share of itself, is not worth building on
HEATER_SPREAD = 0.08  # half-range of heater current between valves (sheets' acceptance limits are 7 % to 10 %)
HEATER_POWER = 0.6  # a heater's current goes with its volts to this power (common practice)


class Quantity(StrEnum):
    """What is worked out."""

    CATHODE_CURRENT = "cathode current"
    ANODE_DISSIPATION = "anode dissipation"
    SCREEN_DISSIPATION = "screen dissipation"
    HEATER_CURRENT = "heater current"
    HEATER_POWER = "heater power"


class LimitOutcome(StrEnum):
    """How a derived reading lies to its limit; NONE where the valve has none."""

    NONE = ""
    WITHIN = "within"
    OVER = "over"
    TOO_CLOSE = "too close to call"
    CANNOT_TELL = "cannot tell"  # an upper bound above the limit proves nothing


@dataclass(frozen=True)
class Estimate:
    """A quantity with its standard uncertainty."""

    value: float
    u: float = 0.0

    def __post_init__(self):
        if not (math.isfinite(self.value) and math.isfinite(self.u) and self.u >= 0):
            raise CallerError("A known quantity is finite, with an uncertainty of zero or more.", argument="u")


@dataclass(frozen=True)
class Derived:
    """One derived reading; `limit` and `probability` (of keeping to it) are None where the valve has no such limit.

    `at_most` says that the value is an upper bound: part of the current may go elsewhere. A bound above the limit has
    no probability: it cannot tell.
    """

    ref: str
    what: Quantity
    value: float
    u: float
    unit: str
    of: tuple[str, ...]  # what it was worked out from: nodes, parts, HEATER_VOLTS
    limit: float | None = None
    probability: float | None = None
    system: str = ""
    at_most: bool = False
    section: str = ""  # of a valve of two systems

    def __post_init__(self):
        refuse_unreal(self, "value", "limit")
        refuse_unreal(self, "u", "probability", least=0)

    @property
    def outcome(self) -> LimitOutcome:
        if self.limit is None:
            return LimitOutcome.NONE
        if self.probability is None:
            return LimitOutcome.CANNOT_TELL
        if self.probability >= IN_AT:
            return LimitOutcome.WITHIN
        return LimitOutcome.OVER if self.probability <= OUT_AT else LimitOutcome.TOO_CLOSE


def propagate(function, *inputs: Estimate) -> Estimate:
    """function(*values) with u² = Σ (∂f/∂x·u)² by central differences (JCGM 100:2008, equation 10 and note to
    5.1.4)."""
    values = [x.value for x in inputs]
    total = 0.0
    for n, x in enumerate(inputs):
        step = x.u or 0.0
        if step:
            up, down = (function(*values[:n], x.value + s * step / 100, *values[n + 1 :]) for s in (1, -1))
            total += ((up - down) / 2 * 100) ** 2
    return Estimate(function(*values), math.sqrt(total))


def current_through(drop: Estimate, ohms: float, tolerance: float) -> Estimate:
    """Amps from the volts across a known resistor; its tolerance is a rectangular half-width. Raises ChecksError."""
    if not (0 < ohms < math.inf and 0 <= tolerance < math.inf):
        raise CallerError("A current is worked out across a known resistor, above zero ohms.", argument="ohms")
    return propagate(lambda v, r: v / r, drop, Estimate(ohms, standard_uncertainty(ohms * tolerance)))


def heater_current(volts: Estimate, rated_volts: float, rated_amps: float) -> Estimate:
    """A heater's amps at its volts, from its rating: I ~ V^0.6, with the scatter between valves."""
    if not (0 < rated_volts < math.inf and 0 < rated_amps < math.inf):
        raise CallerError("A heater has rated volts and amps above zero.", argument="rated_volts")
    rated = Estimate(rated_amps, standard_uncertainty(rated_amps * HEATER_SPREAD))
    return propagate(lambda v, a: a * (abs(v) / rated_volts) ** HEATER_POWER, volts, rated)


def derive(parts, volts: dict[str, Estimate], heaters: dict[str, Estimate] | None = None) -> list[Derived]:
    """All that can be worked out of every valve.

    `parts` are PartSpecs, `volts` node -> DC volts to chassis, `heaters` valve -> volts across its heater. What cannot
    be worked out from these is left out.
    """
    parts = list(parts)
    derived = []
    for part in parts:
        if part.kind in VALVES:
            for section in SECTIONS[part.kind]:
                derived += _section(parts, part, section, {CHASSIS: Estimate(0.0), **volts})
            derived += _heater(part, (heaters or {}).get(part.ref))
    return derived


def _section(parts, part: PartSpec, section: str, volts):
    """Yield what one valve section's readings give."""
    at = {name: part.joins.get(f"{section}.{name}" if section else name, "") for name in ("anode", "screen", "cathode")}
    cathode, screen, anode = (_current_into(parts, at[name], volts) for name in ("cathode", "screen", "anode"))
    if cathode:
        sections = _judged(part, Quantity.CATHODE_CURRENT, cathode[0], "A", cathode[1], "cathode_milliamps", 1e-3)
        yield replace(sections, section=section)
    if part.kind == "rectifier valve":
        return
    across = _between(volts, at["anode"], at["cathode"])
    current, of, at_most = _anode_current(part, anode, cathode, screen)
    if across and current:
        power = propagate(lambda v, i: v * i, across, current)
        nodes = (at["anode"], at["cathode"], *of)
        sections = _judged(part, Quantity.ANODE_DISSIPATION, power, "W", nodes, "anode_watts", at_most=at_most)
        yield replace(sections, section=section)
    over = _between(volts, at["screen"], at["cathode"])
    if over and screen:
        power = propagate(lambda v, i: v * i, over, Estimate(abs(screen[0].value), screen[0].u))
        nodes = (at["screen"], *screen[1])
        yield replace(_judged(part, Quantity.SCREEN_DISSIPATION, power, "W", nodes, "screen_watts"), section=section)


def _between(volts, a: str, b: str) -> Estimate | None:
    if a in volts and b in volts:
        return _subtract(volts[a], volts[b])
    return None


def _subtract(a: Estimate, b: Estimate) -> Estimate:
    return propagate(lambda x, y: x - y, a, b)


def _current_into(parts, node: str, volts) -> tuple[Estimate, tuple[str, ...]] | None:
    """Current through the one resistor that feeds an electrode's node from a node that was read, and from what."""
    fed = [
        (p, other)
        for p in parts
        if p.kind == "resistor" and node in p.joins.values()
        for other in p.joins.values()
        if other != node and other in volts
    ]
    if node not in volts or len(fed) != 1:
        return None
    part, other = fed[0]
    drop = _subtract(volts[other], volts[node])
    amps = current_through(drop, part.value, part.tolerance.plus)
    if amps.u > SURE * abs(amps.value):
        return None  # a small difference of two large readings
    return Estimate(abs(amps.value), amps.u), (part.ref, node, other)


def _anode_current(part, anode, cathode, screen):
    """(current, from what, whether it is only a bound): its own resistor's, else the cathode's less the screen's."""
    if anode:
        return anode[0], anode[1], False
    if not cathode:
        return None, (), False
    if part.kind != "pentode":
        return cathode[0], cathode[1], False
    if screen:
        return propagate(lambda k, s: k - s, cathode[0], screen[0]), (*cathode[1], *screen[1]), False
    return cathode[0], cathode[1], True


def _judged(part, what, known: Estimate, unit, of, key, scale=1.0, at_most=False) -> Derived:
    limits = find_limits(part.type, part.limits, part.kind)
    limit = limits[key] * scale if key in limits else None
    p = None if limit is None else float(conformance(known.value, known.u, -math.inf, limit))
    if at_most and p is not None and p < IN_AT:
        p = None  # a bound above the limit proves nothing
    return Derived(
        part.ref, what, known.value, known.u, unit, tuple(dict.fromkeys(of)), limit, p, limits["system"], at_most
    )


def _heater(part, volts: Estimate | None):
    heater = find_heater(part.type, part.limits) if volts else None
    if volts and heater:
        rated = heater.volts * (2 if heater.centre and volts.value > 1.5 * heater.volts else 1)
        amps = heater.amps / (2 if rated > heater.volts else 1)
        current = heater_current(volts, rated, amps)
        power = propagate(lambda v, i: abs(v) * i, volts, current)
        yield Derived(part.ref, Quantity.HEATER_CURRENT, current.value, current.u, "A", (HEATER_VOLTS,))
        yield Derived(part.ref, Quantity.HEATER_POWER, power.value, power.u, "W", (HEATER_VOLTS,))
