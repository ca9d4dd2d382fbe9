"""Windings that drive no rectifier, though a rectifier's cathode may be tied to them.

A rectifier valve's own heater winding is the usual one: it rides on B+ by the valve's cathode (5Y3 and its like, whose
heater is the cathode, and most indirectly heated ones with a winding to themselves). Such a winding hangs on the rest
of the circuit by one node, so that no current of its own can pass a diode. Where B+ is taken from its other end, half
of its volts at most are added to one pulse and taken off the next, which is left out.
"""

from collections import defaultdict

from checks.circuit.netlist.network import Network
from checks.circuit.netlist.terminals import groups_of_pins, is_heater

RECTIFYING = ("diode", "bridge", "rectifier valve")


def find_unrectified_coils(net: Network, fitted, coils) -> tuple:
    """The coils, of `coils`, that drive no rectifier. One with an end left open is none: it is meant to drive
    something."""
    ways, ends = _ways(net, fitted), _diode_ends(net, fitted)
    used = {net.nodes[n] for part in fitted if not part.windings for n in part.nodes}
    return tuple(
        c
        for c in coils
        if _heats_its_cathode(net, fitted, c) or ({*c.nodes} <= used and _has_one_node_joined(net, c, ways, ends))
    )


def _ways(net: Network, fitted) -> dict:
    """Node -> the nodes that a part joins it to, windings included."""
    ways: defaultdict = defaultdict(set)
    for part in fitted:
        for group in groups_of_pins(part):
            nodes = {net.nodes[n] for n in group}
            for node in nodes:
                ways[node] |= nodes - {node}
    return ways


def _diode_ends(net: Network, fitted) -> set[int]:
    """Nodes where rectifying parts begin or end; a valve's heater is no such end."""
    return {
        net.nodes[n]
        for part in fitted
        if part.kind in RECTIFYING
        for terminal, n in part.joins.items()
        if not is_heater(terminal)
    }


def _heats_its_cathode(net: Network, fitted, coil) -> bool:
    """Does the coil heat a rectifier valve whose cathode is one of its own nodes?"""
    nodes = set(coil.nodes)
    for part in fitted:
        if part.kind == "rectifier valve" and net.size not in nodes:
            heater = {net.nodes[n] for t, n in part.joins.items() if t in ("heater.1", "heater.2")}
            if len(heater) == 2 and heater <= nodes and net.nodes[part.joins["cathode"]] in nodes:
                return True
    return False


def _has_one_node_joined(net: Network, coil, ways: dict, ends: set[int]) -> bool:
    return any(not _escapes(net, coil, joint, ways, ends) for joint in range(net.size + 1))


def _escapes(net: Network, coil, joint: int, ways: dict, ends: set[int]) -> bool:
    """Without the node `joint`, does anything lead from the coil to the chassis or to a diode?"""
    ahead = [n for n in coil.nodes if n != joint]
    seen = {joint, *ahead}
    while ahead:
        node = ahead.pop()
        if node == net.size or node in ends:
            return True
        new = ways[node] - seen
        seen |= new
        ahead.extend(new)
    return False
