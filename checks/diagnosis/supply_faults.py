"""What may be wrong between the mains and the reservoir: windings, fuses, switch, rectifiers, taps and the mains
itself."""

from checks.circuit.assemble.network import FUSE_VOLTS
from checks.circuit.netlist.network import winding_ohms
from checks.diagnosis.codes import FaultCode
from checks.diagnosis.fault import SHORT, Move, opened
from checks.diagnosis.prior_weights import fault

OHMS_OFF = (0.3, 0.6, 1.5, 2.5, 6.0, 25.0)  # of a winding's ohms, with its joints
VOLTS_OFF = (0.6, 0.75, 0.87, 1.15)  # of its volts: another tap, or wound for another kit
LAMP_WATTS = 60.0  # of the lamp that builders put in series, where the guide names none (common practice)
NO_MAINS = Move("line", "volts", 1e-3)


def iron(parts):
    """Faults of transformers and chokes."""
    for p in parts:
        for w in p.windings:
            moves = [Move(p.ref, f"{w.name} ohms", opened(winding_ohms(p, w)))]
            if w.name == "primary" and p.kind == "mains transformer":
                moves.append(NO_MAINS)
            key, params = f"{p.ref} {w.name} open", {"winding": w.name}
            yield fault(key, FaultCode.WINDING_OPEN, "winding", [p.ref], moves, params)
            ohms = [Move(p.ref, f"{w.name} ohms", 1.0)]
            key = f"{p.ref} {w.name} ohms"
            yield fault(key, FaultCode.WINDING_OHMS, "winding value", [p.ref], ohms, params, sizes=OHMS_OFF)
            if w.volts and w.name != "primary" and p.kind == "mains transformer":
                volts, key = [Move(p.ref, f"{w.name} volts", 1.0)], f"{p.ref} {w.name} volts"
                yield fault(key, FaultCode.WINDING_VOLTS, "winding value", [p.ref], volts, params, sizes=VOLTS_OFF)
        if p.kind == "inductor":
            move = Move(p.ref, "ohms", opened(p.ohms))
            yield fault(f"{p.ref} open", FaultCode.CHOKE_OPEN, "winding", [p.ref], [move])
            ohms = [Move(p.ref, "ohms", 1.0)]
            yield fault(f"{p.ref} ohms", FaultCode.CHOKE_OHMS, "winding value", [p.ref], ohms, sizes=OHMS_OFF)


def supply(parts):
    """Faults of fuses, mains switch and rectifiers, and of how the mains comes in."""
    fuses = [_blown(p) for p in parts if p.kind == "fuse"]
    for p in parts:
        if p.kind == "fuse":
            yield fault(f"{p.ref} blown", FaultCode.FUSE_BLOWN, "fuse", [p.ref], _blown(p))
        if p.kind == "switch" and is_in_mains(p):
            yield fault(f"{p.ref} open", FaultCode.SWITCH_OPEN, "open", [p.ref], [NO_MAINS])
        if p.kind in ("diode", "bridge"):
            yield fault(f"{p.ref} open", FaultCode.DIODE_OPEN, "diode", [p.ref], without=(p.ref,))
            if fuses:  # on every other half wave it shorts the winding through the other diode, until a fuse goes
                yield fault(f"{p.ref} reversed", FaultCode.DIODE_REVERSED, "diode", [p.ref], fuses[0])
        if p.kind == "rectifier valve":
            dead, params = [Move(p.ref, "strength", SHORT)], {"type": p.type}
            yield fault(f"{p.ref} dead", FaultCode.RECTIFIER_DEAD, "dead", [p.ref], dead)
            yield fault(f"{p.ref} heater", FaultCode.VALVE_HEATER, "heater", [p.ref], dead, dead_heaters=(p.ref,))
            weak = [Move(p.ref, "strength", 0.3)]
            yield fault(f"{p.ref} weak", FaultCode.RECTIFIER_WEAK, "weak", [p.ref], weak, params)
    if any(p.kind == "mains transformer" for p in parts):
        yield from _mains()


def is_in_mains(p) -> bool:
    return any(n.startswith("mains") for n in p.nodes)


def _blown(p) -> list[Move]:
    return [NO_MAINS] if is_in_mains(p) else [Move(p.ref, "ohms", opened(p.ohms or FUSE_VOLTS / (p.value or 1.0)))]


def _mains():
    for factor, code in ((0.5, FaultCode.TAP_FOR_TWICE), (2.0, FaultCode.TAP_FOR_HALF)):
        yield fault(f"tap x{factor:g}", code, "tap", [], [Move("line", "volts", factor)])
    for factor, code in ((0.88, FaultCode.MAINS_LOW), (1.12, FaultCode.MAINS_HIGH)):
        yield fault(f"mains x{factor:g}", code, "mains", [], [Move("line", "volts", factor)])


def lamp_left_in(parts, conditions):
    """The series lamp of the first power still in circuit at a stage that is to be without it."""
    lamp = next((c.lamp_watts for c in conditions if c.lamp_watts), LAMP_WATTS)
    bare = [c for c in conditions if c.power == "on" and not c.lamp_watts and not c.supply_volts]
    if bare and any(p.kind == "mains transformer" for p in parts):
        yield fault("lamp left in", FaultCode.LAMP_LEFT_IN, "lamp", [], lamp_watts=lamp)
