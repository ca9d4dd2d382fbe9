"""Each part's tolerances: its parts list's own, a data sheet's, or the ones assumed where neither states any.

Assumed ones are common practice unless the line beside them says otherwise; `assumed_tolerances` lists which of them a
kit's figures rest on.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from checks.circuit.netlist.forward_drop import DROP_SPREAD, is_led
from checks.circuit.netlist.op_amps import OP_AMP
from checks.circuit.netlist.parameters import Assumed, Parameter, Parameters
from checks.circuit.netlist.parts import PartSpec
from checks.circuit.netlist.regulation import list_secondaries
from checks.circuit.netlist.sources import TERMINALS as SOURCES
from checks.circuit.netlist.terminals import SECTIONS
from checks.circuit.netlist.transistors import BIPOLARS, MOSFETS
from checks.circuit.valves.types import find_spread, is_spread_published
from checks.finite import finite_arguments, finite_figures
from checks.quantity import Tolerance

WINDING_OHMS = Tolerance(0.10, 0.10)
WINDING_VOLTS = Tolerance(0.03, 0.03)
OTHER_OHMS = Tolerance(0.20, 0.20)
LEAKAGE = Tolerance(0.5, 0.5)
HEATER_AMPS = Tolerance(0.08, 0.08)  # current-production sheets accept 7 to 10 %
THRESHOLD = Tolerance(1 / 3, 1 / 3)  # sheets print 2 V to 4 V
TRANSCONDUCTANCE = Tolerance(0.3, 0.3)
GAIN = Tolerance(0.5, 1.0)  # sheets print a least gain and often four times as much at most
BASE_VOLTS = Tolerance(0.08, 0.08)  # 50 mV: some 20 mV between types and 15 K of warmth at 2 mV/K
SCREEN_MODEL = 0.17  # by what share fitted screen currents miss their sheets' at most (valves/VALVES.md)
RECTIFIER = Tolerance(0.20, 0.20)  # perveance of a rectifier valve
STATES = (
    "heater amps",
    "lit",
    "ohms",
    "open-loop gain",
)  # what the operating point itself sets is a parameter, whatever its range
GRID_LEAK = 3.3e6  # Ω: with so much before it a grid is biased by its own current
OFFSET = Tolerance(0.005, 0.005)  # V between an op-amp's inputs (sheets of audio types print 0.5 mV to 6 mV)
IRON = Tolerance(0.25, 0.25)  # of a signal transformer's inductances (common practice)
ELECTRODES = Tolerance(0.2, 0.2)  # of a valve's capacitances (common practice)
AMPLIFICATION = Tolerance(0.1, 0.1)  # of a valve's, beside its current (MIL-E-1 sheets accept some 10 %; from memory)
LEVEL = Tolerance(0.05, 0.05)  # of a tone set by the builder's meter through a divider of 5 % parts (common practice)
CONTACT = Tolerance(0.2, 0.2)  # V either way between valves (sheets let the grid current start anywhere up to -1.3 V)


@finite_figures
@dataclass(frozen=True)
class AssumedTolerance:
    """An assumed range as shares (V for contact potentials and offsets), and the parts it is assumed of."""

    of: Assumed
    minus: float
    plus: float
    refs: tuple[str, ...]


@finite_arguments
def list_parameters(parts, line_spread: float = 0.0, winding_factor: float = 1.0, signals: bool = False) -> Parameters:
    """The parameters of a kit. Windings that are `winding_factor` times as high as cold ones may be as cold as these or
    twice as much warmer, which widens the range of their ohms. With `signals` what only these know of
    comes last."""
    leaks = {n for p in parts if p.kind == "resistor" and p.value >= GRID_LEAK for n in p.joins.values()}
    warming = 1 - 1 / winding_factor
    rows = [row for part in parts for row in (*_of(part, warming), *_contacts(part, leaks))]
    rows = [row for row in rows if row.minus or row.plus or row.what in STATES]
    if signals:
        rows += [row for part in parts for row in _of_signals(part)]
        rows.append(Parameter("signal", "level", LEVEL.minus, LEVEL.plus))
    if line_spread:
        rows.append(Parameter("line", "volts", line_spread, line_spread))
    return Parameters(tuple(rows))


def assumed_tolerances(parts) -> tuple[AssumedTolerance, ...]:
    """The ranges that figures of `parts` rest on and nobody has stated, in the order of `Assumed`."""
    assumed: dict[tuple, dict] = {}
    for row in list_parameters(parts).rows:
        if row.assumed:
            assumed.setdefault((row.assumed, row.minus, row.plus), {})[row.ref] = None
    return tuple(
        AssumedTolerance(of, minus, plus, tuple(refs))
        for (of, minus, plus), refs in sorted(assumed.items(), key=lambda item: list(Assumed).index(item[0][0]))
    )


def _row(ref: str, what: str, own: Tolerance | None, usual: Tolerance, assumed: Assumed, shape="rectangular"):
    known = own or usual
    return Parameter(ref, what, known.minus, known.plus, shape, None if own else assumed)


def _of(part: PartSpec, warming: float) -> Iterator[Parameter]:
    own, ref = part.own_tolerance, part.ref
    if part.kind == "neon":
        yield _row(ref, "value", own, part.tolerance, Assumed.VALUE)
        yield Parameter(ref, "lit", 0.0, 0.0)
    elif part.kind == "thermistor":
        yield _row(ref, "ohms", own, part.tolerance, Assumed.THERMISTOR_OHMS)
    elif part.kind == OP_AMP:
        yield _row(ref, "offset", own, OFFSET, Assumed.OFFSET)
        yield Parameter(ref, "open-loop gain", 0.0, 0.0)
    elif part.kind in ("resistor", "potentiometer", "zener", *SOURCES):
        yield _row(ref, "value", own, part.tolerance, Assumed.VALUE)
    elif part.kind in ("fuse", "lamp"):
        yield _row(ref, "ohms", own, OTHER_OHMS, Assumed.FUSE_OHMS if part.kind == "fuse" else Assumed.LAMP_OHMS)
    elif part.kind == "diode" and (part.model or is_led(part)):
        yield _row(ref, "drop", own, Tolerance(DROP_SPREAD, DROP_SPREAD), Assumed.DIODE_DROP)
    elif part.kind == "inductor":
        yield _warmed(_row(ref, "ohms", part.ohms_tolerance, WINDING_OHMS, Assumed.CHOKE_OHMS), warming)
    elif part.leakage and part.kind in ("capacitor", "electrolytic"):
        yield _row(ref, "leakage", None, LEAKAGE, Assumed.LEAKAGE)
    elif part.windings:
        yield from _of_transformer(part, warming)
    elif part.kind in SECTIONS:
        yield from _of_valve(part)
    elif part.kind in MOSFETS:
        yield _row(ref, "threshold", own, THRESHOLD, Assumed.THRESHOLD)
        yield _row(ref, "transconductance", None, TRANSCONDUCTANCE, Assumed.TRANSCONDUCTANCE)
    elif part.kind in BIPOLARS:
        yield _row(ref, "gain", own, GAIN, Assumed.CURRENT_GAIN)
        yield _row(ref, "base volts", None, BASE_VOLTS, Assumed.BASE_VOLTS)


def _of_signals(part: PartSpec) -> Iterator[Parameter]:
    """What only signals know of."""
    if part.kind in ("capacitor", "electrolytic"):
        yield _row(part.ref, "farads", part.own_tolerance, part.tolerance, Assumed.CAPACITANCE)
    elif part.kind == "inductor":
        yield _row(part.ref, "henries", part.own_tolerance, part.tolerance, Assumed.INDUCTANCE)
    elif part.kind == "output transformer":
        if any(w.inductance for w in part.windings):
            yield _row(part.ref, "henries", None, IRON, Assumed.INDUCTANCE)
        for winding in (w for w in part.windings if w.leakage_inductance):
            yield _row(part.ref, f"{winding.name} leakage henries", None, IRON, Assumed.INDUCTANCE)
    elif part.kind in SECTIONS and part.kind != "rectifier valve":
        yield _row(part.ref, "capacitances", None, ELECTRODES, Assumed.VALVE_CAPACITANCES)
        for section in SECTIONS[part.kind]:
            yield _row(
                part.ref, f"{section} amplification".strip(), None, AMPLIFICATION, Assumed.AMPLIFICATION, "normal"
            )


def _warmed(row: Parameter, warming: float) -> Parameter:
    minus, plus = (math.hypot(side, warming) for side in (row.minus, row.plus))
    return Parameter(row.ref, row.what, minus, plus, row.shape, row.assumed)


def _contacts(part: PartSpec, leaks: set[str]) -> Iterator[Parameter]:
    """How far the contact potential of grids on a large grid leak lies from the usual, in V."""
    for section, names in SECTIONS.get(part.kind, {}).items():
        start = f"{section}." if section else ""
        if "grid" in names and part.joins[f"{start}grid"] in leaks:
            yield _row(part.ref, f"{section} contact".strip(), None, CONTACT, Assumed.CONTACT_POTENTIAL)


def _of_transformer(part: PartSpec, warming: float) -> Iterator[Parameter]:
    secondaries = list_secondaries(part)
    for winding in part.windings:
        ohms = winding.ohms_tolerance or part.ohms_tolerance
        row = _row(part.ref, f"{winding.name} ohms", ohms, WINDING_OHMS, Assumed.WINDING_OHMS)
        yield _warmed(row, warming) if winding.ohms else row
        if winding.volts and winding in secondaries:
            volts = winding.tolerance or part.own_tolerance
            yield _row(part.ref, f"{winding.name} volts", volts, WINDING_VOLTS, Assumed.WINDING_VOLTS)


def _of_valve(part: PartSpec) -> Iterator[Parameter]:
    own = part.own_tolerance
    if part.kind == "rectifier valve":
        yield _row(part.ref, "strength", own, RECTIFIER, Assumed.RECTIFIER_CURRENT, "normal")
    else:
        sheet = Tolerance(*find_spread(part.type))
        known = own or (sheet if is_spread_published(part.type) else None)
        for section in SECTIONS[part.kind]:
            measured = part.tested[section].tolerance if section in part.tested else known
            yield _row(part.ref, f"{section} strength".strip(), measured, sheet, Assumed.VALVE_CURRENT, "normal")
        if part.kind == "pentode":
            strength = own or sheet
            half = Tolerance(*(max(side / 2, SCREEN_MODEL) for side in (strength.minus, strength.plus)))
            yield _row(part.ref, "screen share", None, half, Assumed.SCREEN_CURRENT, "normal")
    yield _row(part.ref, "heater amps", None, HEATER_AMPS, Assumed.HEATER_CURRENT, "normal")
