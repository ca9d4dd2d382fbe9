"""What the solver cannot say, by node: a supply that is not calculated, and everything that hangs on it."""

from collections import defaultdict
from dataclasses import dataclass

from checks.circuit.netlist.remark import Remark

NOWHERE = 1e12  # Ω: a leak that the diagnosis looks at, and no way for what is not known


@dataclass(frozen=True)
class Unsupported:
    """Nodes whose DC (`nodes`) and whose alternating volts (`alternating`) are not calculated, and why.

    `draws` tells that the transformer's load is not all known.
    """

    refs: str
    nodes: frozenset[int]
    alternating: frozenset[int]
    why: Remark
    draws: bool = False


def spread_unsupported(unsupported, resistives, devices, chassis: int) -> dict[int, Remark]:
    """Node -> why its DC is not calculated: the refused nodes and all that hangs together with them otherwise than by
    the chassis."""
    joined = defaultdict(set)
    for r in (r for r in resistives if r.ohms < NOWHERE):
        joined[r.a].add(r.b)
        joined[r.b].add(r.a)
    for device in devices:
        nodes = {n for pair in (*device.ports, *device.currents) for n in pair}
        for node in nodes:
            joined[node] |= nodes
    spread = {}
    for refusal in unsupported:
        ahead = list(refusal.nodes)
        while ahead:
            node = ahead.pop()
            if node != chassis and node not in spread:
                spread[node] = refusal.why
                ahead.extend(joined[node])
    return spread
