"""Circuits that cannot work, found before they are solved: electrodes without a DC path."""

from collections import defaultdict

from checks.circuit.devices.neons import Neon
from checks.circuit.devices.sources import DirectSource
from checks.circuit.netlist.network import Network
from checks.circuit.netlist.transistors import MAIN, find_control
from checks.circuit.solver.conductances import floating
from checks.errors import ChecksError


def electrode_errors(net: Network) -> list[ChecksError]:
    """Grids, gates, bases and op-amps' inputs without a DC path to chassis, and cathodes, sources and emitters (with p
    channel and in pnp drains and collectors) whose current cannot leave."""
    groups, _ = floating(net)
    inside, onward = defaultdict(set), defaultdict(set)
    for device in net.devices:
        for leaves, enters in _carried(device):
            onward[groups.find(leaves)].add(groups.find(enters))
            inside[groups.find(leaves)].add(device.ref)
            inside[groups.find(enters)].add(device.ref)
    chassis = groups.find(net.size)
    errors = []
    for valve in net.valves:
        if not _reaches(groups.find(valve.cathode), chassis, onward):
            errors.append(_floats(net, valve, "cathode"))
        grid = groups.find(valve.grid)
        if grid != chassis and not inside[grid]:
            errors.append(_floats(net, valve, "grid"))
    for device in net.transistors:
        kind = net.kinds[device.ref]
        if not _reaches(groups.find(device.outward), chassis, onward):
            errors.append(_floats(net, device, MAIN[kind][1]))
        control = groups.find(device.control)
        if control != chassis and not inside[control] - {device.ref}:
            errors.append(_floats(net, device, find_control(kind)))
    for amplifier in net.op_amps:
        for name, node in (("plus_input", amplifier.plus), ("minus_input", amplifier.minus)):
            group = groups.find(node)
            if group != chassis and not inside[group]:
                errors.append(_floats(net, amplifier, name))
    return errors


def _carried(device):
    """A device's currents without the grid's, which is no path; a Zener diode or reference valve carries either way."""
    grid = getattr(device, "grid", None)
    if hasattr(device, "turned"):
        return [(device.inward, device.outward)]
    if isinstance(device, DirectSource):
        return [(device.plus, device.minus), (device.minus, device.plus)]
    if isinstance(device, Neon):
        return [(device.one, device.other), (device.other, device.one)]
    if getattr(device, "breakdown", None):
        return [(device.anode, device.cathode), (device.cathode, device.anode)]
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
    return part.wrong(
        f"joins.{terminal}",
        f"has no DC path to chassis: no DC path from {valve.ref} {electrode} (node {part.joins[terminal]}) to chassis.",
        "electrode-without-dc",
        electrode=electrode,
        node=part.joins[terminal],
    )
