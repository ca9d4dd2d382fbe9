"""Which nodes of a kit no stray path can tell apart, and which lie near each other."""

from itertools import combinations

from checks.circuit.netlist.network import winding_ohms

FEW_OHMS = 3.0  # a hundredth of the least path's: no reading tells the one side from the other
FEW_VOLTS = 20.0  # of a winding: between heater wires a path carries nothing worth a name
FAR = 99


def merged(parts) -> dict[str, str]:
    """Node -> the node that stands for all that few ohms join with it; the chassis for itself."""
    stands = {node: node for part in parts for node in part.nodes}
    for one, other in _joined(parts):
        keep, gone = stands[one], stands[other]
        if gone == "chassis":
            keep, gone = gone, keep
        stands = {node: keep if at == gone else at for node, at in stands.items()}
    return stands


def _joined(parts):
    """Pairs of nodes that few ohms join, whether the power is on or not."""
    for part in parts:
        for winding in part.windings:
            pieces = len(winding.nodes) - 1
            if (winding.volts or 0.0) <= FEW_VOLTS and winding_ohms(part, winding) / pieces <= FEW_OHMS:
                yield from zip(winding.nodes, winding.nodes[1:], strict=False)
        nodes = list(part.joins.values())
        if part.kind == "link" or (part.kind == "switch" and not part.open_when_off and len(nodes) == 2):
            yield from zip(nodes, nodes[1:], strict=False)
        elif part.kind in ("resistor", "fuse", "inductor") and len(nodes) == 2:
            ohms = part.value if part.kind == "resistor" else part.ohms
            if ohms is not None and ohms <= FEW_OHMS:
                yield nodes[0], nodes[1]


def steps_between(parts) -> dict[tuple[str, str], int]:
    """Both ways round: how many parts lead from one node to another, on no way by the chassis or a heater, on which
    most of a kit hangs."""
    beside: dict[str, set[str]] = {}
    for part in parts:
        own = [node for end, node in part.joins.items() if not end.startswith("heater")]
        for nodes in (own, *(winding.nodes for winding in part.windings)):
            for one, other in combinations(dict.fromkeys(n for n in nodes if n != "chassis"), 2):
                beside.setdefault(one, set()).add(other)
                beside.setdefault(other, set()).add(one)
    return {(start, node): far for start in beside for node, far in _steps(beside, start).items()}


def _steps(beside, start: str) -> dict[str, int]:
    distances, edge = {start: 0}, [start]
    while edge:
        nearer = [(node, distances[at] + 1) for at in edge for node in beside[at]]
        edge = list(dict.fromkeys(node for node, _ in nearer if node not in distances))
        distances |= {node: far for node, far in nearer if node not in distances}
    return distances
