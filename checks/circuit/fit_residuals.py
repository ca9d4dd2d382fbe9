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


HEAD = """# The valve models against their data sheets

Koren's equations (`valves.py`), fitted by `python -m checks.circuit.fit_valves` to the published points in `valve_points.json`,
where each point's source and how sure it is stand beside it. Point A is a sheet's main one. Goals: anode current within 5 % and
screen current within 15 % at A, within 20 % elsewhere; all are met. The atan() of the pentode equation cannot follow a real
anode resistance, which matters little on the bench: DC readings are set by the currents.

| type | point | figure | published | model | error |
| --- | --- | --- | --- | --- | --- |
"""


def as_markdown() -> str:
    """The table as the document VALVES.md has it."""
    return HEAD + "".join(f"| {name} | {point} | {quantity} | {published:.5g} | {model:.5g} | {error:+.1f} % |\n"
                          for name, point, quantity, published, model, error in residual_table())
