"""Assembles the network of a parts list under a condition."""

from dataclasses import replace

from checks.circuit.devices.junctions import Junction, zener_law
from checks.circuit.devices.neons import list_neons
from checks.circuit.devices.op_amps import list_op_amps
from checks.circuit.devices.sources import list_sources, source_ohms
from checks.circuit.devices.transistors import build_transistor
from checks.circuit.devices.valves import Pentode, Triode
from checks.circuit.netlist.conditions import Condition
from checks.circuit.netlist.network import COLD, Network, Resistive, winding_ohms
from checks.circuit.netlist.parts import PartSpec, Winding, require_figure
from checks.circuit.netlist.sources import SUPPLIES
from checks.circuit.netlist.terminals import SECTIONS, VALVES
from checks.circuit.netlist.tolerances import list_parameters
from checks.circuit.netlist.transistors import TRANSISTORS
from checks.circuit.netlist.unsupported import Unsupported, spread_unsupported
from checks.circuit.netlist.wires import CHASSIS, merged_nodes
from checks.circuit.rectifiers.detection import rectified
from checks.circuit.rectifiers.primaries import build_feed
from checks.circuit.valves.heaters import heater_pieces
from checks.circuit.valves.tested import koren_as_tested
from checks.circuit.valves.types import find_koren
from checks.errors import ChecksError
from checks.quantity import Tolerance

LOAD, LOAD_TOLERANCE = "load", Tolerance(0.05, 0.05)  # a dummy load as sold, measured by nobody (common practice)
FUSE_VOLTS = 0.2  # a fuse without ohms drops about this at its rating (common practice)


def build_network(parts, condition: Condition) -> Network:
    """Build the network of a parts list. Raises ChecksError for parts that are named twice, and as the parts do."""
    parts = (*parts, *_load(condition))
    _refuse_twins(parts)
    nodes = merged_nodes(parts, condition)
    parameters = list_parameters(parts, condition.line_spread, condition.winding_factor, condition.signal is not None)
    fitted = [p for p in parts if p.ref not in condition.not_fitted]
    resistives = tuple(r for p in fitted for r in _resistances(p, nodes, parameters, condition))
    capacitors = tuple(
        (p, *(nodes[n] for n in p.joins.values())) for p in fitted if p.kind in ("capacitor", "electrolytic")
    )
    bare = Network(parts, condition, parameters, nodes, resistives, capacitors=capacitors)
    if condition.power == "off":
        return bare
    bare = replace(bare, feeds=tuple(build_feed(p, bare) for p in fitted if p.kind == "mains transformer"))
    supply = rectified(bare, fitted)
    valves = tuple(v for p in fitted for v in _valves(p, nodes, parameters))
    zeners = tuple(_zener(p, nodes, parameters) for p in fitted if p.kind == "zener")
    junctions = (*supply.junctions, *zeners, *list_neons(fitted, nodes, parameters))
    sources = list_sources(fitted, nodes, parameters)
    transistors = tuple(build_transistor(p, nodes, parameters) for p in fitted if p.kind in TRANSISTORS)
    op_amps = list_op_amps(fitted, nodes, parameters)
    devices = (*supply.banks, *valves, *junctions, *sources, *op_amps, *transistors)
    unsupported = (
        *supply.unsupported,
        *(
            Unsupported(feed.ref, frozenset(range(bare.size)), frozenset(range(bare.size)), feed.unclear)
            for feed in bare.feeds
            if feed.unclear
        ),
    )
    return replace(
        bare,
        valves=valves,
        junctions=junctions,
        transistors=transistors,
        sources=sources,
        op_amps=op_amps,
        banks=supply.banks,
        notes=supply.notes,
        unsupported=unsupported,
        not_calculated=spread_unsupported(unsupported, resistives, devices, bare.size),
    )


def _zener(part: PartSpec, nodes: dict[str, int], parameters) -> Junction:
    volts, ohms = zener_law(require_figure(part.value), part.power)
    ends = nodes[part.joins["anode"]], nodes[part.joins["cathode"]]
    return Junction(part.ref, *ends, volts, parameters.index(part.ref, "value"), breakdown_ohms=ohms)


def _load(condition: Condition):
    """The load that a signal's checks are read with, as a part."""
    signal = condition.signal
    if signal and signal.load_ohms:
        joins = {"a": signal.load_at, "b": CHASSIS}
        yield PartSpec(LOAD, "resistor", value=signal.load_ohms, tolerance=LOAD_TOLERANCE, joins=joins)


def _refuse_twins(parts):
    seen = set()
    for part in parts:
        if part.ref in seen:
            raise part.wrong("ref", "stands on two parts.", "duplicate-ref")
        seen.add(part.ref)


def _resistances(part: PartSpec, nodes, parameters, condition):
    """Yield the Resistives of one part; ones that join a node to itself carry nothing and are left out."""
    if part.kind == "thermistor":
        rows = [("ohms", *part.joins.values(), part.ohms if condition.power == "on" else part.value)]
    elif part.kind in ("resistor", "fuse", "lamp", "inductor") or part.leakage:
        ohms, what = _two_ended(part, condition.winding_factor)
        rows = [(what, *part.joins.values(), ohms)]
    elif part.kind == "potentiometer":
        rows = _track(part, dict(condition.settings).get(part.ref, part.setting))
    elif part.windings:
        rows = [row for w in part.windings for row in _winding_rows(part, w, condition.winding_factor)]
    elif part.kind in SUPPLIES and condition.power == "on":
        rows = [("ohms", part.joins["plus"], part.joins["minus"], source_ohms(part))]
    elif part.kind in VALVES:
        rows = _heater_rows(part, cold=condition.power == "off")
    else:
        return
    for what, a, b, ohms, *rated in rows:
        if nodes[a] != nodes[b] and ohms > 0:
            yield Resistive(part.ref, what, nodes[a], nodes[b], ohms, parameters.index(part.ref, what), *rated)


def _two_ended(part: PartSpec, warmth: float):
    if part.kind == "resistor":
        return part.value, "value"
    if part.kind == "fuse":
        return part.ohms or FUSE_VOLTS / (part.value or 1.0), "ohms"
    if part.kind == "lamp":
        return part.ohms or (
            require_figure(part.volts) / part.amps
            if part.amps
            else require_figure(part.volts) ** 2 / require_figure(part.power)
        ), "ohms"
    if part.kind == "inductor":
        return require_figure(part.ohms) * warmth, "ohms"
    return (part.volts or 100.0) / require_figure(part.leakage), "leakage"


def _track(part: PartSpec, setting: float):
    top, wiper, bottom = (part.joins[t] for t in ("top", "wiper", "bottom"))
    ohms = require_figure(part.value)
    return [("value", top, wiper, ohms * (1 - setting)), ("value", wiper, bottom, ohms * setting)]


def _winding_rows(part: PartSpec, winding: Winding, warmth: float):
    ohms, what = winding_ohms(part, winding, warmth), f"{winding.name} ohms"
    if len(winding.nodes) == 2:
        return [(what, *winding.nodes, ohms)]
    first, centre, last = winding.nodes
    return [(what, first, centre, ohms / 2), (what, centre, last, ohms / 2)]


def _heater_rows(part: PartSpec, cold: bool):
    """A heater as one resistance, or two halves that meet at a centre pin; each with the volts it is rated for."""
    warmth = COLD if cold else 1.0
    return [("heater amps", p.a, p.b, p.volts / p.amps / warmth, p.volts) for p in heater_pieces(part)]


def _valves(part: PartSpec, nodes, parameters):
    if part.kind not in VALVES or part.kind == "rectifier valve":
        return
    try:
        koren = find_koren(part.type, part.model, part.kind)
    except ChecksError as error:
        raise part.wrong(
            error.argument, f"is not usable. {error}", "valve-model", type=part.type, inner=error
        ) from error
    if (part.kind == "pentode") != (koren.kg2 is not None):
        raise part.wrong("type", f"{part.type} is not a {part.kind}.", "valve-kind", type=part.type, kind=part.kind)
    for section, names in SECTIONS[part.kind].items():
        start = f"{section}." if section else ""
        ends = [nodes[part.joins[start + n]] for n in names]
        own = koren_as_tested(koren, part.tested[section], part.type) if section in part.tested else koren
        strength = parameters.index(part.ref, f"{section} strength".strip())
        contact = parameters.index(part.ref, f"{section} contact".strip())
        if part.kind == "pentode":
            share = parameters.index(part.ref, "screen share")
            anode, screen, grid, cathode = ends
            yield Pentode(part.ref, section, own, anode, screen, grid, cathode, strength, share, contact)
        else:
            anode, grid, cathode = ends
            yield Triode(part.ref, section, own, anode, grid, cathode, strength, contact)
