"""The circuit of a parts list under a condition: nodes, resistances, devices and capacitors, ready to be solved."""

import math
from dataclasses import dataclass, field, replace

from checks.circuit.beyond import Refusal, beyond
from checks.circuit.conditions import Condition
from checks.circuit.devices import Junction, Pentode, Triode
from checks.circuit.parameters import Parameters, parameters_of
from checks.circuit.parts import PartSpec, Winding
from checks.circuit.terminals import SECTIONS, VALVES
from checks.circuit.valve_data import heater_of, koren_of
from checks.circuit.wires import CHASSIS, merged_nodes
from checks.errors import ChecksError

COLD = 6.0  # hot over cold resistance of a heater (common practice: five to eight)
FUSE_VOLTS = 0.2  # a fuse without ohms drops about this at its rating (common practice)


@dataclass(frozen=True)
class Resistive:
    """A resistance between two nodes: nominal ohms times a parameter."""

    ref: str
    what: str
    a: int
    b: int
    ohms: float
    parameter: int


@dataclass(frozen=True)
class Network:
    """Everything the solver needs. Nodes are numbered 0 to size - 1; `size` itself is the chassis.

    `feeds` are the mains transformers, `banks` their rectifiers (banks.py). `beyond` tells of nodes why their DC is not
    calculated; nodes `adrift` are held to the chassis by nothing that passes current.
    """

    parts: tuple[PartSpec, ...]
    condition: Condition
    parameters: Parameters
    nodes: dict[str, int]
    resistives: tuple[Resistive, ...]
    valves: tuple = ()
    junctions: tuple = ()
    banks: tuple = ()
    capacitors: tuple = ()
    feeds: tuple = ()
    notes: tuple[str, ...] = ()
    refusals: tuple = ()
    beyond: dict = field(default_factory=dict)
    adrift: frozenset = frozenset()

    @property
    def size(self) -> int:
        return self.nodes[CHASSIS]

    @property
    def devices(self) -> tuple:
        return (*self.banks, *self.valves, *self.junctions)

    @property
    def rectifiers(self) -> tuple:
        """Each rectifier of each bank, in the order of their ports and currents."""
        return tuple(r for bank in self.banks for r in bank.members)

    def node(self, probe: str) -> int:
        """The number of a probe point: a node, or a valve's pin ("V2.7"). Raises ChecksError for one there is not."""
        if probe in self.nodes:
            return self.nodes[probe]
        ref, _, pin = probe.partition(".")
        for part in self.parts:
            if part.ref == ref and pin in part.pins:
                return self.nodes[part.joins[part.pins[pin]]]
            if part.ref == ref and part.kind in VALVES:
                raise part.wrong("pins", f"has no pin {pin}.", "unknown-pin")
        raise ChecksError(
            f"“{probe}” is not a node of the circuit or a valve's pin.", argument="probe", code="unknown-node"
        )

    def named(self, number: int) -> str:
        """The first name of a node."""
        return next(name for name, n in self.nodes.items() if n == number)


def network_of(parts, condition: Condition) -> Network:
    """Build the network of a parts list. Raises ChecksError for parts that are named twice, and as the parts do."""
    from checks.circuit.feeds import feed_of
    from checks.circuit.rectifiers import rectified

    parts = tuple(parts)
    _refuse_twins(parts)
    nodes = merged_nodes(parts, condition)
    parameters = parameters_of(parts, condition.line_spread)
    fitted = [p for p in parts if p.ref not in condition.not_fitted]
    resistives = tuple(r for p in fitted for r in _resistances(p, nodes, parameters, condition))
    capacitors = tuple(
        (p, *(nodes[n] for n in p.joins.values())) for p in fitted if p.kind in ("capacitor", "electrolytic")
    )
    bare = Network(parts, condition, parameters, nodes, resistives, capacitors=capacitors)
    if condition.power == "off":
        return bare
    bare = replace(bare, feeds=tuple(feed_of(p, bare) for p in fitted if p.kind == "mains transformer"))
    found = rectified(bare, fitted)
    valves = tuple(v for p in fitted for v in _valves(p, nodes, parameters))
    zeners = tuple(
        Junction(p.ref, nodes[p.joins["anode"]], nodes[p.joins["cathode"]], p.value, parameters.index(p.ref, "value"))
        for p in fitted
        if p.kind == "zener"
    )
    junctions = (*found.junctions, *zeners)
    refusals = (
        *found.refusals,
        *(
            Refusal(feed.ref, frozenset(range(bare.size)), frozenset(range(bare.size)), feed.unclear)
            for feed in bare.feeds
            if feed.unclear
        ),
    )
    return replace(
        bare,
        valves=valves,
        junctions=junctions,
        banks=found.banks,
        notes=found.notes,
        refusals=refusals,
        beyond=beyond(refusals, resistives, (*found.banks, *valves, *junctions), bare.size),
    )


def _refuse_twins(parts):
    seen = set()
    for part in parts:
        if part.ref in seen:
            raise part.wrong("ref", "stands on two parts.", "twice")
        seen.add(part.ref)


def _resistances(part: PartSpec, nodes, parameters, condition):
    """Yield the Resistives of one part; ones that join a node to itself carry nothing and are left out."""
    if part.kind in ("resistor", "fuse", "lamp", "inductor") or part.leakage:
        ohms, what = _two_ended(part)
        rows = [(what, *part.joins.values(), ohms)]
    elif part.kind == "potentiometer":
        rows = _track(part, dict(condition.settings).get(part.ref, part.setting))
    elif part.windings:
        rows = [row for w in part.windings for row in _winding_rows(part, w)]
    elif part.kind in VALVES:
        rows = _heater_rows(part, cold=condition.power == "off")
    else:
        return
    for what, a, b, ohms in rows:
        if nodes[a] != nodes[b] and ohms > 0:
            yield Resistive(part.ref, what, nodes[a], nodes[b], ohms, parameters.index(part.ref, what))


def _two_ended(part: PartSpec):
    if part.kind == "resistor":
        return part.value, "value"
    if part.kind == "fuse":
        return part.ohms or FUSE_VOLTS / (part.value or 1.0), "ohms"
    if part.kind == "lamp":
        return part.ohms or (part.volts / part.amps if part.amps else part.volts**2 / part.power), "ohms"
    if part.kind == "inductor":
        return part.ohms, "ohms"
    return (part.volts or 100.0) / part.leakage, "leakage"


def _track(part: PartSpec, setting: float):
    top, wiper, bottom = (part.joins[t] for t in ("top", "wiper", "bottom"))
    return [("value", top, wiper, part.value * (1 - setting)), ("value", wiper, bottom, part.value * setting)]


def winding_ohms(part: PartSpec, winding: Winding) -> float:
    """A whole winding's DC ohms; where none are given, what the regulation at rated amps comes to."""
    if winding.ohms:
        return winding.ohms
    halves = len(winding.nodes) - 1
    return halves * part.regulation * winding.volts / winding.amps


def _winding_rows(part: PartSpec, winding: Winding):
    ohms, what = winding_ohms(part, winding), f"{winding.name} ohms"
    if len(winding.nodes) == 2:
        return [(what, *winding.nodes, ohms)]
    first, centre, last = winding.nodes
    return [(what, first, centre, ohms / 2), (what, centre, last, ohms / 2)]


def _heater_rows(part: PartSpec, cold: bool):
    """A heater as one resistance, or two halves that meet at a centre pin."""
    heater = heater_of(part.type, part.limits)
    ends = [part.joins[t] for t in ("heater.1", "heater.2") if t in part.joins]
    if not heater or len(ends) < 2:
        return []
    ohms = heater.volts / heater.amps / (COLD if cold else 1.0)
    if not heater.centre:
        return [("heater amps", *ends, ohms)]
    half, centre = 2 * ohms, part.joins.get("heater_centre")
    if centre is None:
        return [("heater amps", *ends, 2 * half)]
    return [("heater amps", ends[0], centre, half), ("heater amps", ends[1], centre, half)]


def _valves(part: PartSpec, nodes, parameters):
    if part.kind not in VALVES or part.kind == "rectifier valve":
        return
    try:
        koren = koren_of(part.type, part.model)
    except ChecksError as error:
        raise part.wrong(error.argument, f"is not usable. {error}", error.code) from error
    if (part.kind == "pentode") != (koren.kg2 is not None):
        raise part.wrong("type", f"{part.type} is not a {part.kind}.", "kind")
    for section, names in SECTIONS[part.kind].items():
        start = f"{section}." if section else ""
        ends = [nodes[part.joins[start + n]] for n in names]
        strength = parameters.index(part.ref, f"{section} strength".strip())
        if part.kind == "pentode":
            yield Pentode(part.ref, section, koren, *ends, strength, parameters.index(part.ref, "screen share"))
        else:
            yield Triode(part.ref, section, koren, *ends, strength)


def peak_volts(part: PartSpec, winding: Winding) -> float:
    """Open-circuit peak of a winding (per half, when centre-tapped) at the reference line."""
    return math.sqrt(2) * winding.volts * (1 + (part.regulation or 0.0))
