"""The small-signal circuit of a solved network: conductances, slopes of devices, capacitances and coils, by sample.

Conductances and capacitances are real and the same at every frequency; coils and op-amps, whose gain falls with
frequency, are stamped for each. Rectifiers and regulators count with the slopes of their mean laws, which is what they
are far below the mains frequency; above it the capacitors behind them carry the current. Transistors have no
capacitances here, and wiring has none.
"""

from dataclasses import dataclass

import numpy as np

from checks.circuit.devices.op_amps import OpAmp
from checks.circuit.netlist.network import Network
from checks.circuit.netlist.parts import require_figure
from checks.circuit.netlist.wires import Groups
from checks.circuit.signals.coils import Core, list_cores
from checks.circuit.solver.conductances import siemens
from checks.circuit.solver.newton import flows
from checks.circuit.valves.types import find_capacitances


@dataclass(frozen=True)
class Falling:
    """An op-amp's slope: current from one node to another for a voltage between two more, (samples,) S, falling above
    `corner` Hz."""

    out: tuple[int, int]
    inputs: tuple[int, int]
    siemens: np.ndarray
    corner: float


@dataclass(frozen=True)
class Linear:
    """A small-signal circuit. Nodes are those of `kept` (numbers of the network) in their order.

    `real` (samples, n, n) in S, `farads` (samples, n, n).
    """

    net: Network
    m: np.ndarray
    kept: tuple[int, ...]
    real: np.ndarray
    farads: np.ndarray
    cores: tuple[Core, ...]
    falling: tuple[Falling, ...]

    @property
    def place(self) -> dict[int, int]:
        return {node: n for n, node in enumerate(self.kept)}

    def admittances(self, hertz: float) -> np.ndarray:
        """Y (samples, n, n) at a frequency."""
        omega = 2 * np.pi * hertz
        y = np.empty(self.real.shape, dtype=complex)
        y.real = self.real
        np.multiply(self.farads, omega, out=y.imag)
        place = self.place
        for core in self.cores:
            for one, other, value in core.admittances(self.m, omega):
                _stamp(y, place, (one.a, one.b), (other.a, other.b), value)
        for slope in self.falling:
            _stamp(y, place, slope.out, slope.inputs, slope.siemens / (1 + 1j * hertz / slope.corner))
        return y


def linearise(operating, start: tuple[int, ...], last: int | None = None, rectifiers: bool = True) -> Linear:
    """The small-signal circuit of a solved network, as far as it hangs together with the nodes `start`; node `last`
    comes last. Without `rectifiers` these carry no signal (their pulses are a source by themselves)."""
    net, solution = operating.net, operating.solution
    m = solution.reduced.m
    cores = list_cores(net)
    nodes = _nodes_joined_to(net, cores, start, last)
    real = np.zeros((len(m), len(nodes), len(nodes)))
    farads = np.zeros_like(real)
    place = {node: n for n, node in enumerate(nodes)}
    _resistances(net, m, cores, real, place)
    falling = tuple(_slopes(net, solution, rectifiers, real, place))
    for a, b, value in _capacitances(net, m):
        _stamp(farads, place, (a, b), (a, b), value)
    inside = tuple(core for core in cores if any(c.a in place or c.b in place for c in core.coils))
    return Linear(net, m, nodes, real, farads, inside, falling)


def _resistances(net, m, cores, real, place):
    coiled, conductance = {core.ref for core in cores}, siemens(net, m)
    for n, r in enumerate(net.resistives):
        if r.ref not in coiled:
            _stamp(real, place, (r.a, r.b), (r.a, r.b), conductance[:, n])


def _slopes(net, solution, rectifiers: bool, real, place):
    """Stamp the devices' slopes, and yield those of op-amps' inputs."""
    _, slopes = flows(solution.reduced, solution.ports, solution.reduced.m, solution.drive)
    for device, ports, currents in net.columns():
        if device in net.banks and not rectifiers:
            continue
        for row, out in enumerate(device.currents, currents.start):
            for column, inputs in enumerate(device.ports, ports.start):
                value = slopes[:, row, column]
                if device in net.valves and inputs == device.ports[-1]:
                    value = value * solution.reduced.m[:, net.parameters.index(device.ref, amplification(device.name))]
                if isinstance(device, OpAmp) and column == ports.start:
                    yield Falling(out, inputs, value, device.bandwidth / device.gain)
                elif value.any():
                    _stamp(real, place, out, inputs, value)


def amplification(section: str) -> str:
    """The parameter of how much more or less than its type a section's grid does."""
    return f"{section} amplification".strip()


def _capacitances(net: Network, m):
    """Yield (node, node, F (samples,)): capacitors, and between valves' electrodes."""
    for part, a, b in net.capacitors:
        if a != b:
            yield a, b, require_figure(part.value) * m[:, net.parameters.index(part.ref, "farads")]
    parts = {p.ref: p for p in net.parts}
    for valve in net.valves:
        part = parts[valve.ref]
        capacitances = find_capacitances(part.type, part.limits, part.kind)
        if capacitances:
            scale = m[:, net.parameters.index(valve.ref, "capacitances")]
            yield valve.grid, valve.anode, capacitances.grid_anode * scale
            yield valve.grid, valve.cathode, capacitances.grid_cathode * scale
            yield valve.anode, valve.cathode, capacitances.anode_cathode * scale


def add_between(y, place, ends, siemens) -> None:
    """Add a conductance (samples,) between two nodes of the network to admittances in the order of `place`."""
    _stamp(y, place, ends, ends, siemens)


def _stamp(matrix, place, out, inputs, value):
    """Add a current from out[0] to out[1] of `value` for each volt of inputs[0] against inputs[1]."""
    for node, way in zip(out, (1.0, -1.0), strict=True):
        for other, sign in zip(inputs, (1.0, -1.0), strict=True):
            if node in place and other in place:
                matrix[:, place[node], place[other]] += way * sign * value


def _nodes_joined_to(net: Network, cores, start, last) -> tuple[int, ...]:
    """Nodes that hang together with `start` otherwise than by the chassis."""
    groups = Groups()
    groups.find(net.size)

    def join(nodes):
        inside = [n for n in nodes if n != net.size]
        for node in inside[1:]:
            groups.join(inside[0], node)

    for r in net.resistives:
        join((r.a, r.b))
    for _part, a, b in net.capacitors:
        join((a, b))
    for core in cores:
        join([n for coil in core.coils for n in (coil.a, coil.b)])
    for device in net.devices:
        join([n for pair in (*device.ports, *device.currents) for n in pair])
    roots = {groups.find(n) for n in start if n != net.size}
    connected = [n for n in range(net.size) if groups.find(n) in roots and n != last]
    return (*connected, *(() if last is None else (last,)))
