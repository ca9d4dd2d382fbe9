"""Direct-current supplies and three-terminal regulators as a parts list gives them.

A DC supply (an adaptor) or a battery has a `value` in V, `ohms` of its own and, as a rating, `amps`. A regulator has a
`value` in V between output and common, `model = { dropout = 2, quiescent = 0.005 }` in V and A. An adjustable one is
written with its reference for a value (1.25 V) and what leaves its adjusting pin for `quiescent` (50 µA).
"""

from checks.finite import finite_arguments

SUPPLIES = ("dc supply", "battery")
REGULATORS = ("regulator", "negative regulator")
TERMINALS = dict.fromkeys(SUPPLIES, ("plus", "minus")) | dict.fromkeys(REGULATORS, ("input", "output", "common"))
# Where a parts list states none (common practice: what sheets of the usual ones print).
ASSUMED_OHMS = {"dc supply": 0.1, "battery": 1.0}
USUAL_TOLERANCE = {"dc supply": 0.05, "battery": 0.1, "regulator": 0.04, "negative regulator": 0.04}
REFERENCE_VOLTS = 2.0  # a regulator of less is an adjustable one
ASSUMED_MODEL = {"dropout": 2.0, "quiescent": 0.005}
ADJUSTABLE_QUIESCENT = 50e-6


@finite_arguments
def regulator_model(kind: str, value: float, model: dict, wrong) -> dict:
    """The dropout and quiescent current of a regulator, assumed ones filled in. `wrong` makes the error to raise."""
    for name, figure in model.items():
        if name not in ASSUMED_MODEL:
            known = ", ".join(ASSUMED_MODEL)
            raise wrong(f"model.{name}", f"is not known; a {kind} has {known}.", "model-figure", name=name, known=known)
        if not 0 < figure < 100:
            raise wrong(f"model.{name}", f"is {figure:g}.", "not-above-zero", typed=f"{figure:g}")
    adjustable = {"quiescent": ADJUSTABLE_QUIESCENT} if value < REFERENCE_VOLTS else {}
    return ASSUMED_MODEL | adjustable | model
