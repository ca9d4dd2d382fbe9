"""Transistors as a parts list gives them: kinds, terminals, and the figures of their sheets that set currents.

A MOSFET: `model = { threshold = 3.5, transconductance = 1.2, amps = 0.5 }`, in V, and in S at a drain current of so
many A. A threshold has its sheet's sign: negative for a depletion type with n channel, and for every p channel made to
enhance. A bipolar transistor: `model = { gain = 150, volts = 0.65, amps = 0.005 }`, the current gain, and base to
emitter V at a collector current of so many A, without sign for either polarity. What is left out is assumed
(ASSUMED_FIGURES).
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import StrEnum

from checks.circuit.netlist.op_amps import OP_AMP
from checks.circuit.netlist.regulation import usual_regulation
from checks.circuit.netlist.sources import ASSUMED_OHMS, REGULATORS
from checks.finite import finite_figures

MOSFETS = ("n-channel mosfet", "p-channel mosfet")
BIPOLARS = ("npn transistor", "pnp transistor")
TRANSISTORS = (*MOSFETS, *BIPOLARS)
TERMINALS = dict.fromkeys(MOSFETS, ("gate", "drain", "source")) | dict.fromkeys(
    BIPOLARS, ("base", "collector", "emitter")
)
# (current's way in, its way out) of the main current; n and npn, then p and pnp.
MAIN = {
    "n-channel mosfet": ("drain", "source"),
    "p-channel mosfet": ("source", "drain"),
    "npn transistor": ("collector", "emitter"),
    "pnp transistor": ("emitter", "collector"),
}


class Figure(StrEnum):
    """Figures of the sheets of transistors, regulators, op-amps and supplies."""

    THRESHOLD = "threshold"
    TRANSCONDUCTANCE = "transconductance"
    GAIN = "gain"
    VOLTS = "volts"
    AMPS = "amps"
    DROPOUT = "dropout"  # of a regulator, as is the next
    QUIESCENT = "quiescent"
    OHMS = "ohms"  # of a DC supply or a battery
    HEADROOM = "headroom"  # of an op-amp, as are the next
    OPEN_LOOP_GAIN = "open_loop_gain"
    BANDWIDTH = "bandwidth"
    REGULATION = "regulation"  # of a mains transformer, for ratings alone


# V, S at A: a power MOSFET for 400 V to 900 V, whose sheets print thresholds from 2 V to 4 V (common practice).
# Gain, V at A: a small silicon transistor (common practice).
ASSUMED_FIGURES = {
    kind: {Figure.THRESHOLD: threshold, Figure.TRANSCONDUCTANCE: 1.0, Figure.AMPS: 0.5}
    for kind, threshold in zip(MOSFETS, (3.0, -3.0), strict=True)
} | dict.fromkeys(BIPOLARS, {Figure.GAIN: 100.0, Figure.VOLTS: 0.65, Figure.AMPS: 0.005})
ALONG = {Figure.TRANSCONDUCTANCE: Figure.AMPS, Figure.VOLTS: Figure.AMPS}  # one means nothing without the other
UNITS = {Figure.THRESHOLD: "V", Figure.TRANSCONDUCTANCE: "S", Figure.GAIN: "", Figure.VOLTS: "V", Figure.AMPS: "A"}
UNITS |= {Figure.DROPOUT: "V", Figure.QUIESCENT: "A", Figure.OHMS: "Ω"}
UNITS |= {Figure.HEADROOM: "V", Figure.OPEN_LOOP_GAIN: "", Figure.BANDWIDTH: "Hz", Figure.REGULATION: "%"}


@finite_figures
@dataclass(frozen=True)
class AssumedFigure:
    """A figure that no sheet was quoted for, and the parts it is assumed of."""

    of: Figure
    value: float
    unit: str
    refs: tuple[str, ...]


def find_control(kind: str) -> str:
    """The terminal that controls: gate or base."""
    return TERMINALS[kind][0]


def list_figures(kind: str, model: dict, wrong: Callable) -> dict[Figure, float]:
    """The figures of one transistor, assumed ones filled in. `wrong(key, why, code, **params)` makes the error."""
    assumed = ASSUMED_FIGURES[kind]
    for name in model:
        if name not in list(assumed):
            known = ", ".join(assumed)
            raise wrong(f"model.{name}", f"is not known; a {kind} has {known}.", "model-figure", name=name, known=known)
    for one, other in ALONG.items():
        if one in assumed and (one in model) != (other in model):
            present, missing = (one, other) if one in model else (other, one)
            raise wrong(
                f"model.{missing}", f"is missing beside {present}.", "model-pair", given=present, missing=missing
            )
    for name in (n for n in model if n != Figure.THRESHOLD):
        if not 0 < model[name] < 1e6:
            raise wrong(f"model.{name}", f"is {model[name]:g}.", "not-above-zero", typed=f"{model[name]:g}")
    threshold = model.get(Figure.THRESHOLD, assumed.get(Figure.THRESHOLD, 0.0))
    if not abs(threshold) < 100 or (kind == "p-channel mosfet" and threshold >= 0):
        code = "p-threshold" if abs(threshold) < 100 else "threshold-size"
        raise wrong("model.threshold", f"is {threshold:g}.", code, typed=f"{threshold:g}")
    return assumed | model


def _list_assumed(part) -> Iterable[tuple[Figure, float]]:
    if part.kind in REGULATORS:
        return [(name, part.figures[name]) for name in (Figure.DROPOUT, Figure.QUIESCENT)]
    if part.kind == OP_AMP:
        names = (Figure.QUIESCENT, Figure.HEADROOM, Figure.OPEN_LOOP_GAIN, Figure.BANDWIDTH)
        return [(name, part.figures[name]) for name in names]
    if (share := usual_regulation(part)) is not None:
        return [(Figure.REGULATION, 100 * share)]
    if part.kind in ASSUMED_OHMS:
        return [] if part.ohms else [(Figure.OHMS, ASSUMED_OHMS[part.kind])]
    return ASSUMED_FIGURES.get(part.kind, {}).items()


def assumed_figures(parts: Iterable) -> tuple[AssumedFigure, ...]:
    """The figures of transistors, regulators, supplies and transformers that readings and ratings rest on and the list
    does not give, sorted."""
    assumed: dict[tuple, list] = {}
    for part in parts:
        for name, value in _list_assumed(part):
            if name not in part.model and name is not Figure.AMPS:
                assumed.setdefault((name, value), []).append(part.ref)
    order = list(Figure)
    return tuple(
        AssumedFigure(of, value, UNITS[of], tuple(refs))
        for (of, value), refs in sorted(assumed.items(), key=lambda item: order.index(item[0][0]))
    )
