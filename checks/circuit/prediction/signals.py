"""Nominal operating points for a signal, and how its figures go over good builds."""

from checks.circuit.netlist.conditions import Condition
from checks.circuit.prediction.nominal import solve_nominal
from checks.circuit.signals.transfer import input_node
from checks.circuit.solver.operating_point import Operating
from checks.errors import ChecksError


def solve_signal_point(parts, condition: Condition) -> Operating:
    """The nominal operating point with a signal's input. Raises ChecksError as `predict`, and with the power off."""
    net, operating = solve_nominal(parts, condition)
    if operating is None:
        raise ChecksError("A signal passes with the power on.", argument="power", code="power-is-off")
    input_node(net)
    return operating
