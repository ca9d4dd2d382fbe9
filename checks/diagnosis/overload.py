"""May a reading that is out of its band, taken with the power on, mean that some part is overloaded?

It may unless it cannot: a current that is too small, and an anode, a screen or the supply itself above its band but
within a stop limit, are what a valve that conducts too little makes of a kit. Everything else may: a supply so far
above its band that no missing load explains it (the wrong tap, a choke bridged; with fixed bias the valves are
overloaded long before a capacitor's rating is reached), one that is pulled down, a cathode or a grid too high (a
coupling capacitor that leaks) or too low (a bypass capacitor that is shorted), a heater above or below its volts, and
any reading of the wrong sign (common practice).
"""

from enum import StrEnum

from checks.circuit.netlist.terminals import SECTIONS
from checks.finite import finite_arguments
from checks.measures import FLOWING

HOLDS_BIAS = ("cathode", "grid")
AMPLIFIERS = tuple(kind for kind, sections in SECTIONS.items() if any("grid" in ends for ends in sections.values()))
CARRIES_SUPPLY = ("anode", "screen")
TOO_HIGH = 1.25  # of the band's upper limit, past which a supply has more than lost its load (assumed)


class Point(StrEnum):
    """What a probe's point is in a valve circuit."""

    SUPPLY = "supply"
    ANODE_OR_SCREEN = "anode or screen"
    BIAS = "bias"
    OTHER = "other"


def find_point(parts, point: str) -> Point:
    """What the red probe's point (a node, or a pin such as "V2.7") is, by the parts joined there. A screen tied to the
    supply is the supply."""
    node = find_node(parts, point)
    ends = {t.rpartition(".")[2] for p in parts if p.kind in AMPLIFIERS for t, n in p.joins.items() if n == node}
    if ends & set(HOLDS_BIAS):
        return Point.BIAS
    if node in supply_nodes(parts):
        return Point.SUPPLY
    return Point.ANODE_OR_SCREEN if ends & set(CARRIES_SUPPLY) else Point.OTHER


def supply_nodes(parts) -> set[str]:
    """Nodes that a rectifier feeds or that an electrolytic to chassis smooths, but for those that hold a bias."""
    bias = {n for p in parts if p.kind in AMPLIFIERS for t, n in p.joins.items() if t.rpartition(".")[2] in HOLDS_BIAS}
    fed = {p.joins["cathode"] for p in parts if p.kind in ("diode", "rectifier valve") and "cathode" in p.joins}
    fed |= {p.joins["plus"] for p in parts if p.kind == "bridge" and "plus" in p.joins}
    cans = [set(p.joins.values()) for p in parts if p.kind == "electrolytic"]
    smoothed = {n for ends in cans if "chassis" in ends for n in ends}
    return (fed | smoothed) - bias - {"chassis"}


def find_node(parts, point: str) -> str:
    """The node of "V2.3", or the point itself where it names a node."""
    ref, _, pin = point.partition(".")
    part = next((p for p in parts if p.ref == ref and pin in p.pins), None)
    return part.joins[part.pins[pin]] if part else point


@finite_arguments
def may_mean_overload(
    measure: str,
    point: Point,
    value: float | None,
    is_high: bool,
    has_stop_above: bool,
    upper: float | None = None,
) -> bool:
    """Must the power go off for this reading? `value` None is over range; `is_high` is the side it is out on, `upper`
    the band's upper limit.

    Resistances are measured with the power off and mean none.
    """
    if measure not in FLOWING:
        return False
    if value is None:
        return True
    if measure == "current":
        return is_high or value < 0
    if point is Point.SUPPLY and upper is not None and upper > 0 and value > TOO_HIGH * upper:
        return True
    harmless_high = point in (Point.SUPPLY, Point.ANODE_OR_SCREEN) and is_high and value > 0 and has_stop_above
    return not (measure == "dc volts" and harmless_high)
