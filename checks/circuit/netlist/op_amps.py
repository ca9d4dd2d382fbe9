"""Operational amplifiers as a parts list gives them.

`model = { headroom = 1.5, open_loop_gain = 100000, amps = 0.025, quiescent = 0.002, bandwidth = 3e6 }`: how near to
either supply the output comes in V, what it can deliver and what one amplifier takes in A, and the gain-bandwidth
product in Hz. Each amplifier of a package is a part of its own (U1a, U1b); both join the package's supply pins.
"""

OP_AMP = "op-amp"
TERMINALS = {OP_AMP: ("plus_input", "minus_input", "output", "plus_supply", "minus_supply")}
INPUTS = ("plus_input", "minus_input")
# Where a parts list states none: what sheets of the usual audio types print (common practice).
ASSUMED_MODEL = {"headroom": 1.5, "open_loop_gain": 1e5, "amps": 0.025, "quiescent": 0.002, "bandwidth": 3e6}


def op_amp_model(model: dict, wrong) -> dict:
    """The figures of an op-amp, assumed ones filled in. `wrong` makes the error to raise."""
    for name, figure in model.items():
        if name not in ASSUMED_MODEL:
            known = ", ".join(ASSUMED_MODEL)
            raise wrong(
                f"model.{name}", f"is not known; an op-amp has {known}.", "model-figure", name=name, known=known
            )
        if not 0 < figure < 1e12:
            raise wrong(f"model.{name}", f"is {figure:g}.", "not-above-zero", typed=f"{figure:g}")
    return ASSUMED_MODEL | model
