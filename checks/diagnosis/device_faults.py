"""Faults of transistors, MOSFETs, op-amps, Zener diodes, neon lamps, regulators, thermistors, DC supplies, batteries.

A semiconductor fails shorted more often than open; a power MOSFET between drain and source, a series regulator between
input and output, which lets its whole input out (common practice).
"""

from checks.circuit.netlist.op_amps import OP_AMP
from checks.circuit.netlist.parts import require_figure
from checks.circuit.netlist.sources import REGULATORS, SUPPLIES
from checks.circuit.netlist.transistors import BIPOLARS, TRANSISTORS
from checks.diagnosis.codes import FaultCode, Parasitic
from checks.diagnosis.fault import SHORT, TURNED, Move, opening_factor
from checks.diagnosis.parasitics import NOWHERE, list_shorts
from checks.diagnosis.prior_weights import fault
from checks.diagnosis.supply_faults import NO_MAINS, diode_path, is_in_mains

SHORTED = 0.5  # Ω, as of every short in the list
FORWARD = 0.7  # V of a Zener diode the wrong way round
SUPPLY_VOLTS = (0.5, 0.75, 1.33, 2.0)  # of the listed: another setting or another adaptor
BACKWARDS = 0.03  # of its gain, what a bipolar transistor has with collector and emitter exchanged (common practice)
BATTERY_VOLTS = (0.85, 0.7, 0.5, 0.25)  # of the listed: run down


def list_device_faults(parts):
    """Yield the faults of every semiconductor that is no rectifier, and of every DC source."""
    for p in parts:
        if p.kind in (*TRANSISTORS, OP_AMP, "zener", "neon"):
            yield fault(f"{p.ref} open", FaultCode.DEVICE_OPEN, "device open", [p.ref], without=(p.ref,))
            yield from _shorts(p)
        if p.kind in TRANSISTORS:
            yield _exchanged(p)
        if p.kind == "zener":
            turned = [Move(p.ref, "value", FORWARD / require_figure(p.value)), diode_path(p)]
            yield fault(f"{p.ref} reversed", FaultCode.ZENER_REVERSED, "reversed", [p.ref], turned)
        elif p.kind in REGULATORS:
            yield fault(f"{p.ref} dead", FaultCode.DEVICE_OPEN, "device open", [p.ref], without=(p.ref,))
            moves = [_short(p, *ends) for ends in list_shorts(p)]
            if moves:
                yield fault(f"{p.ref} passes its input", FaultCode.PASSES_INPUT, "device short", [p.ref], moves)
        elif p.kind == "thermistor":
            lost = [NO_MAINS] if is_in_mains(p) else [Move(p.ref, "ohms", opening_factor(require_figure(p.ohms)))]
            yield fault(f"{p.ref} open", FaultCode.DEVICE_OPEN, "device open", [p.ref], lost)
        elif p.kind in SUPPLIES:
            yield from _supply(p)


def _exchanged(p):
    """The leads in another order than the board's, as between makes of a type: a bipolar one has hardly any gain left,
    and a MOSFET's body diode conducts."""
    is_bipolar = p.kind in BIPOLARS
    move = Move(p.ref, "gain", BACKWARDS) if is_bipolar else _short(p, "drain", "source")
    return fault(f"{p.ref} leads exchanged", FaultCode.LEADS_EXCHANGED, "leads exchanged", [p.ref], [move])


def _shorts(p):
    for one, other in list_shorts(p):
        params = {"one": one, "other": other}
        key = f"{p.ref} {one}-{other} short"
        yield fault(key, FaultCode.DEVICE_SHORT, "device short", [p.ref], [_short(p, one, other)], params)


def _short(p, one: str, other: str) -> Move:
    return Move(f"{p.ref} short {one}-{other}", "value", SHORTED / NOWHERE, 0.0, Parasitic.DEVICE)


def _supply(p):
    yield fault(f"{p.ref} dead", FaultCode.SUPPLY_DEAD, "supply", [p.ref], [Move(p.ref, "value", SHORT)])
    turned = [Move(p.ref, "value", TURNED)]
    yield fault(f"{p.ref} reversed", FaultCode.SUPPLY_REVERSED, "supply", [p.ref], turned)
    is_battery = p.kind == "battery"
    code = FaultCode.BATTERY_FLAT if is_battery else FaultCode.SUPPLY_VOLTS
    key, sizes = f"{p.ref} {'flat' if is_battery else 'volts'}", BATTERY_VOLTS if is_battery else SUPPLY_VOLTS
    yield fault(key, code, "supply", [p.ref], [Move(p.ref, "value", 1.0)], sizes=sizes)
