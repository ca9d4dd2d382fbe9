"""Circuits that cannot work, found before they are solved: floating electrodes, shorted supplies, ends that nothing joins."""
from collections import Counter, defaultdict

from checks.circuit.conditions import Condition
from checks.circuit.network import Network, network_of
from checks.circuit.solve import floating
from checks.circuit.terminals import VALVES
from checks.errors import ChecksError

ALONE = ("connector", "hardware", "mains transformer", "output transformer")


def problems(parts, condition: Condition | None = None) -> list[ChecksError]:
    """Everything wrong with the circuit of `parts`, each named by part, key and line; empty for a sound one."""
    try:
        net = network_of(parts, condition or Condition())
    except ChecksError as error:
        return [error]
    return [*electrode_errors(net), *_loose_ends(net)]


def electrode_errors(net: Network) -> list[ChecksError]:
    """Grids without a DC path to chassis, and cathodes whose current cannot leave."""
    groups, _ = floating(net)
    inside, onward = defaultdict(set), defaultdict(set)
    for device in net.devices:
        for leaves, enters in _carried(device):
            onward[groups.find(leaves)].add(groups.find(enters))
            inside[groups.find(leaves)].add(device.ref)
            inside[groups.find(enters)].add(device.ref)
    chassis = groups.find(net.size)
    found = []
    for valve in net.valves:
        if not _reaches(groups.find(valve.cathode), chassis, onward):
            found.append(_floats(net, valve, "cathode"))
        grid = groups.find(valve.grid)
        if grid != chassis and not inside[grid]:
            found.append(_floats(net, valve, "grid"))
    return found


def _carried(device):
    """A device's currents without the grid's, which is no path."""
    grid = getattr(device, "grid", None)
    return [c for c in device.currents if grid is None or c[0] != grid or c[0] == getattr(device, "anode", None)]


def _reaches(start, goal, onward) -> bool:
    seen, ahead = set(), [start]
    while ahead:
        group = ahead.pop()
        if group == goal:
            return True
        if group not in seen:
            seen.add(group)
            ahead.extend(onward[group])
    return False


def _floats(net: Network, valve, electrode: str) -> ChecksError:
    part = next(p for p in net.parts if p.ref == valve.ref)
    terminal = f"{valve.name}.{electrode}" if valve.name else electrode
    return part.wrong(f"joins.{terminal}", f"has no DC path to chassis: no DC path from {valve.ref} {electrode} "
                      f"(node {part.joins[terminal]}) to chassis.", "no-dc-path")


def _loose_ends(net: Network):
    """Yield an error for every end of a part at a node that nothing else touches (a slip of the pen, as a rule)."""
    touched = Counter(net.nodes[n] for p in net.parts for n in p.nodes)
    for part in net.parts:
        if part.kind in ALONE:
            continue
        for terminal, node in part.joins.items():
            heater = part.kind in VALVES and terminal.startswith("heater")
            if touched[net.nodes[node]] == 1 and net.nodes[node] != net.size and not heater:
                yield part.wrong(f"joins.{terminal}", f"is alone at node {node}: nothing else joins it.", "loose-end")
