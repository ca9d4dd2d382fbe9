"""Readings that a guide does not have: with the power off to tell one cause from another, with it on to see what a
check would add."""

from dataclasses import replace

from checks.circuit.netlist.conditions import read_condition
from checks.circuit.netlist.signal import RIPPLE, TONE
from checks.circuit.netlist.terminals import VALVES, is_heater
from checks.circuit.prediction.probes import Probe
from checks.diagnosis.overload import find_node, supply_nodes
from checks.diagnosis.place import Place

TONES = (40.0, 1000.0, 10_000.0)  # Hz
LINE = 0.006  # half-range of the line about what a plug-in meter shows


def with_extras(parts, groups, mains):
    """The guide's [(condition, places)] and the extra ones: with the power off every pin that joins a node of its own
    to chassis and every resistor end to end, with it on (under the guide's last condition that has power) every pin to
    chassis, and where it states a tone the same at other frequencies and the supply's ripple; but for what the guide
    reads itself."""
    groups = [(condition, list(places)) for condition, places in groups]
    on = [n for n, (condition, _places) in enumerate(groups) if condition.power == "on"]
    powered = [n for n in on if groups[n][0].signal is None]
    for condition, places in groups:
        if condition.signal is not None and condition.signal.into:
            places += _under_tone(parts, places)
            break
    if powered:
        condition, places = groups[powered[-1]]
        places += _of_pins(parts, "on", _read(parts, places, "dc volts"))
    return [*groups, _unpowered(parts, groups, mains)]


def _under_tone(parts, places) -> list[Place]:
    """A guide's tones at other frequencies, and the ripple on each smoothing capacitor."""
    tones = [p.probe for p in places if p.probe.under == TONE]
    read = {(p.red, p.black, p.hertz) for p in tones}
    added = []
    for probe in {(p.red, p.black): p for p in tones}.values():
        for hertz in (f for f in TONES if (probe.red, probe.black, f) not in read):
            added.append(Place("", "", replace(probe, hertz=hertz), "on"))
    known = {p.probe.red for p in places if p.probe.under == RIPPLE}
    for part in parts:
        if part.kind == "electrolytic" and (node := part.joins["plus"]) in supply_nodes(parts) and node not in known:
            probe = Probe(node, part.joins["minus"], "ac volts", under=RIPPLE)
            added.append(Place("", "", probe, "on", part=part.ref))
    return added


def _unpowered(parts, groups, mains):
    valves = {p.ref for p in parts if p.kind in VALVES}
    read = set()
    for condition, places in groups:
        if (
            condition.power == "off" and condition.not_fitted <= valves
        ):  # a valve that is not there changes no resistance
            read |= _read(parts, places, "resistance")
    places = _of_pins(parts, "off", read)
    for part in parts:
        ends = tuple(part.joins.values())
        if part.kind == "resistor" and "chassis" not in ends and frozenset(ends) not in read:
            red, black = ends
            places.append(Place("", "", Probe(red, black, "resistance"), "off", part=part.ref))
    return replace(read_condition({"power": "off"}, mains), line_spread=LINE), places


def _of_pins(parts, power, read) -> list[Place]:
    """A place for every node that a socket pin joins, but for heaters, the chassis and what is in `read`."""
    measure = "resistance" if power == "off" else "dc volts"
    seen, places = {nodes - {"chassis"} for nodes in read if "chassis" in nodes}, []
    for part in parts:
        for pin, terminal in part.pins.items():
            node = part.joins[terminal]
            if not is_heater(terminal) and frozenset({node}) not in seen and node != "chassis":
                seen.add(frozenset({node}))
                places.append(Place("", "", Probe(f"{part.ref}.{pin}", "chassis", measure), power))
    return places


def _read(parts, places, measure) -> set[frozenset]:
    """Pairs of nodes that are read already."""
    return {
        frozenset((find_node(parts, p.probe.red), find_node(parts, p.probe.black)))
        for p in places
        if p.probe.measure == measure
    }
