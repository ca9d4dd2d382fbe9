"""What one volt at the input makes of every node, and what an ampere into a node does: batched over samples."""

from dataclasses import dataclass

import numpy as np

from checks.circuit.netlist.network import Network
from checks.circuit.signals.elements import Linear, linearise
from checks.circuit.solver.operating_point import Operating
from checks.errors import ChecksError
from checks.finite import finite_arguments

FLOOR = 1e-12  # S to chassis at every node, so that what a capacitor alone holds has a solution at any frequency


@dataclass(frozen=True)
class Transfer:
    """At one frequency: `volts` (samples, n) at the kept nodes for 1 V at the input, input admittance (samples,)."""

    linear: Linear
    hertz: float
    volts: np.ndarray
    inward: np.ndarray

    def at(self, node: int):
        """Volts (samples,) at a node of the network; the chassis and what hangs apart have none."""
        place = self.linear.place
        return self.volts[:, place[node]] if node in place else np.zeros(len(self.volts), complex)

    def between(self, red: int, black: int):
        return self.at(red) - self.at(black)


def input_node(net: Network) -> int:
    """The node that the condition's signal goes into. Raises ChecksError where there is none, or it is the chassis."""
    signal = net.condition.signal
    if signal is None or not signal.into:
        raise ChecksError("No signal is stated.", argument="signal", code="no-signal")
    node = net.node(signal.into)
    if node == net.size:
        raise ChecksError("The signal goes into the chassis.", argument="into", code="signal-into-chassis")
    return node


def small_signal(operating: Operating) -> Linear:
    """The small-signal circuit of an operating point, its input last."""
    node = input_node(operating.net)
    return linearise(operating, (node,), node)


@finite_arguments
def transfer(linear: Linear, hertz: float) -> Transfer:
    """Solve for 1 V at the last node of `linear`."""
    y = linear.admittances(hertz)
    n = y.shape[1] - 1
    diagonal = np.arange(n)
    y[:, diagonal, diagonal] += FLOOR
    rest = np.linalg.solve(y[:, :n, :n], -y[:, :n, n:])[..., 0] if n else np.zeros((len(y), 0), complex)
    inward = y[:, n, n] + np.einsum("sk,sk->s", y[:, n, :n], rest)
    return Transfer(linear, hertz, np.concatenate((rest, np.ones((len(y), 1))), axis=1), inward)


@finite_arguments
def driving_ohms(linear: Linear, hertz: float, red: int, black: int, shorted: bool = True):
    """Ohms (samples,), complex, seen between two nodes with the input (the last node) shorted, or left open."""
    y = linear.admittances(hertz)
    n = y.shape[1] - (1 if shorted else 0)
    inward = np.zeros((n, 1), complex)
    for node, way in ((red, 1.0), (black, -1.0)):
        if linear.place.get(node, n) < n:
            inward[linear.place[node]] += way
    y = y[:, :n, :n]
    y[:, np.arange(n), np.arange(n)] += FLOOR
    volts = np.linalg.solve(y, np.broadcast_to(inward, (len(y), n, 1)))[..., 0]
    return volts @ inward[:, 0]
