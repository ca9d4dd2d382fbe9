"""A network: nodes, resistances, devices and capacitors of a parts list under a condition, ready to be solved."""

import math
from dataclasses import dataclass, field

from checks.circuit.netlist.conditions import Condition
from checks.circuit.netlist.parameters import Parameters
from checks.circuit.netlist.parts import PartSpec, Winding, require_figure
from checks.circuit.netlist.regulation import no_load_rise
from checks.circuit.netlist.remark import Remark
from checks.circuit.netlist.terminals import VALVES
from checks.circuit.netlist.wires import CHASSIS
from checks.errors import ChecksError
from checks.finite import finite_arguments, finite_figures

COLD = 6.0  # hot over cold resistance of a heater (common practice: five to eight)


@finite_figures
@dataclass(frozen=True)
class Resistive:
    """A resistance between two nodes: nominal ohms times a parameter. `rated_volts` is a heater's own rating."""

    ref: str
    what: str
    a: int
    b: int
    ohms: float
    parameter: int
    rated_volts: float = 0.0


@dataclass(frozen=True)
class Network:
    """Everything the solver needs. Nodes are numbered 0 to size - 1; `size` itself is the chassis.

    `feeds` are the mains transformers, `banks` their rectifiers (rectifiers/banks.py). `not_calculated` tells of nodes
    why their DC is not calculated, `below_critical` why no reading of it is given though it is
    (rectifiers/choke_input.py); nodes `undefined` are held to the chassis by nothing that passes current.
    `heater_factors` are what heaters' volts make of each parameter at the nominal operating point (solver/heaters.py).
    """

    parts: tuple[PartSpec, ...]
    condition: Condition
    parameters: Parameters
    nodes: dict[str, int]
    resistives: tuple[Resistive, ...]
    valves: tuple = ()
    junctions: tuple = ()
    transistors: tuple = ()
    sources: tuple = ()
    op_amps: tuple = ()
    banks: tuple = ()
    capacitors: tuple = ()
    feeds: tuple = ()
    notes: tuple[Remark, ...] = ()
    unsupported: tuple = ()
    not_calculated: dict = field(default_factory=dict)
    undefined: frozenset = frozenset()
    below_critical: dict = field(default_factory=dict)
    heater_factors: tuple[float, ...] = ()

    @property
    def size(self) -> int:
        return self.nodes[CHASSIS]

    @property
    def devices(self) -> tuple:
        return (*self.banks, *self.valves, *self.junctions, *self.sources, *self.op_amps, *self.transistors)

    def columns(self):
        """Yield (device, slice of its ports, slice of its currents) among those of all devices."""
        port = current = 0
        for device in self.devices:
            ports, currents = port + len(device.ports), current + len(device.currents)
            yield device, slice(port, ports), slice(current, currents)
            port, current = ports, currents

    @property
    def rectifiers(self) -> tuple:
        """Each rectifier of each bank, in the order of their ports and currents."""
        return tuple(r for bank in self.banks for r in bank.members)

    @property
    def kinds(self) -> dict[str, str]:
        """Reference -> kind of every part."""
        return {p.ref: p.kind for p in self.parts}

    def node(self, probe: str) -> int:
        """The number of a probe point: a node, or a pin ("V2.7", "Q1.3"). Raises ChecksError for one there is not."""
        if probe in self.nodes:
            return self.nodes[probe]
        ref, _, pin = probe.partition(".")
        for part in self.parts:
            if part.ref == ref and pin in part.pins:
                return self.nodes[part.joins[part.pins[pin]]]
            if part.ref == ref and (part.kind in VALVES or part.pins):
                raise part.wrong("pins", f"has no pin {pin}.", "unknown-pin", pin=pin)
        raise ChecksError(
            f"“{probe}” is not a node of the circuit or a valve's pin.",
            argument="probe",
            code="unknown-node",
            point=probe,
        )

    def named(self, number: int) -> str:
        """The first name of a node."""
        return next(name for name, n in self.nodes.items() if n == number)


@finite_arguments
def winding_ohms(part: PartSpec, winding: Winding, warmth: float = 1.0) -> float:
    """A whole winding's DC ohms, `warmth` times those of a cold one; where none are given, what the regulation at
    rated amps (and so at work) comes to."""
    if winding.ohms:
        return winding.ohms * warmth
    halves = len(winding.nodes) - 1
    return halves * require_figure(part.regulation) * require_figure(winding.volts) / require_figure(winding.amps)


def peak_volts(part: PartSpec, winding: Winding) -> float:
    """Open-circuit peak of a winding (per half, when centre-tapped) at the reference line."""
    return math.sqrt(2) * require_figure(winding.volts) * (1 + no_load_rise(part, winding))
