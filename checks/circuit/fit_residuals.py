"""How far the fitted valve models lie from the published points, recomputed from the packaged data.

The same table stands in the docstring of `fitted`, as written when the fit was made.
"""
from checks.circuit.fit_valves import table
from checks.circuit.fitted import FITTED
from checks.circuit.valve_data import data
from checks.circuit.valves import Koren


def residual_table() -> list[tuple]:
    """(type, point, quantity, published, model, error in %) for every figure of every fitted type. SI units."""
    return table({name: Koren(**values) for name, values in FITTED.items()}, data()["valves"])
