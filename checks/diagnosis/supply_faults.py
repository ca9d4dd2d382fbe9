"""What may be wrong between the mains and the reservoir: windings, fuses, switch, rectifiers, taps and the mains
itself."""

from checks.circuit.assemble.network import FUSE_VOLTS
from checks.circuit.netlist.network import winding_ohms
from checks.circuit.netlist.parts import require_figure
from checks.circuit.netlist.regulation import list_primaries, list_secondaries
from checks.diagnosis.codes import FaultCode, Parasitic
from checks.diagnosis.fault import BRIDGED, SHORT, Move, joint_sizes, opening_factor
from checks.diagnosis.parasitics import BARRIER, DRY, JOINT, NOWHERE, list_anodes, list_ends
from checks.diagnosis.prior_weights import fault
from checks.diagnosis.turned_diodes import turned_without_fuse

OHMS_OFF = (0.3, 0.6, 0.8)  # of a winding's ohms; more of them is mostly a cold joint
VOLTS_OFF = (0.6, 0.75, 0.87, 1.15)  # of its volts: another tap, or wound for another kit
RATIO_OFF = (0.75, 0.82, 0.88, 0.93, 1.07, 1.12, 1.18, 1.25)  # of all a transformer's volts: another tap, other turns
MAINS_LOW, MAINS_HIGH = (0.78, 0.84, 0.9), (1.1, 1.16, 1.22)
FEEBLE = (0.03, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8)  # of the mains that a bad contact lets through
PASSING = (0.2, 0.05, 0.01, 1e-3, 1e-4)  # of a rectifier valve's current, with a cold joint at its cathode
LAMP_WATTS = 60.0  # of the lamp that builders put in series, where the guide names none (common practice)
# Ω that an ohmmeter's few tenths of a volt find through a diode, and give or take: many meters find no way at all.
THROUGH, THROUGH_DECADES = 1.8e5, 1.8
NO_MAINS = Move("line", "volts", 1e-3)


def list_winding_faults(parts):
    """Faults of transformers and chokes."""
    for p in parts:
        for w in p.windings:
            moves = [Move(p.ref, f"{w.name} ohms", opening_factor(winding_ohms(p, w)))]
            if p.kind == "mains transformer" and _feeds_alone(p, w):
                moves.append(NO_MAINS)
            key, params = f"{p.ref} {w.name} open", {"winding": w.name}
            ends = w.nodes if p.kind == "mains transformer" else ()
            yield fault(key, FaultCode.WINDING_OPEN, "winding", [p.ref], moves, params, no_ac=tuple(ends))
            ohms = [Move(p.ref, f"{w.name} ohms", 1.0)]
            key = f"{p.ref} {w.name} ohms"
            sizes = (*OHMS_OFF, *joint_sizes(winding_ohms(p, w)))
            yield fault(key, FaultCode.WINDING_OHMS, "winding value", [p.ref], ohms, params, sizes=sizes)
            if w.volts and p.kind == "mains transformer" and w in list_secondaries(p):
                volts, key = [Move(p.ref, f"{w.name} volts", 1.0)], f"{p.ref} {w.name} volts"
                yield fault(key, FaultCode.WINDING_VOLTS, "winding value", [p.ref], volts, params, sizes=VOLTS_OFF)
        if p.kind == "inductor":
            move = Move(p.ref, "ohms", opening_factor(p.ohms))
            yield fault(f"{p.ref} open", FaultCode.CHOKE_OPEN, "winding", [p.ref], [move])
            ohms = [Move(p.ref, "ohms", 1.0)]
            sizes = (*OHMS_OFF, *joint_sizes(require_figure(p.ohms)))
            yield fault(f"{p.ref} ohms", FaultCode.CHOKE_OHMS, "winding value", [p.ref], ohms, sizes=sizes)
            if _smooths(p, parts):
                bridged = [Move(p.ref, "ohms", BRIDGED / require_figure(p.ohms)), Move(p.ref, "henries", SHORT)]
                yield fault(f"{p.ref} short", FaultCode.SHORT, "short", [p.ref], bridged)
        yield from _ends(p)
        if p.kind == "mains transformer":
            ratio = [Move("line", "volts", 1.0)]
            key = f"{p.ref} volts"
            yield fault(key, FaultCode.TRANSFORMER_VOLTS, "winding value", [p.ref], ratio, sizes=RATIO_OFF)


def _smooths(choke, parts) -> bool:
    """Is there a capacitor at both its ends? Bridged, a choke that a rectifier feeds first gives a reservoir's volts:
    another supply, which no change of a figure makes of this one."""
    ends = {*choke.nodes}
    filled = {n for p in parts if p.kind in ("capacitor", "electrolytic") for n in p.joins.values() if n in ends}
    return len(ends) == 2 and filled == ends


def _feeds_alone(part, winding) -> bool:
    """Does no mains arrive with this winding open? A primary in parallel with another leaves that one."""
    primaries = list_primaries(part)
    twins = [w for w in primaries if {*w.nodes} == {*winding.nodes}]
    return winding in primaries and len(twins) == 1


def _ends(p):
    """Faults of one half of a tapped winding."""
    for name, end in list_ends(p):
        winding = next(w for w in p.windings if w.name == name)
        half, where = winding_ohms(p, winding) / 2, f"{p.ref} end {name} {end}"
        params = {"winding": name}
        open_end, cold = ([Move(where, "value", x, 0.0, Parasitic.END)] for x in (DRY / JOINT, 1.0))
        sizes = tuple(half * (size - 1) / JOINT for size in joint_sizes(half))
        key, wire = f"{p.ref} {name} {end} open", winding.nodes[end]
        yield fault(key, FaultCode.WINDING_OPEN, "winding half", [p.ref], open_end, params, no_ac=(wire,))
        key = f"{p.ref} {name} {end} ohms"
        yield fault(key, FaultCode.WINDING_OHMS, "winding value", [p.ref], cold, params, sizes=sizes)


def list_supply_faults(parts):
    """Faults of fuses, mains switch and rectifiers, and of how the mains comes in."""
    fuses = [_blown_fuse(p) for p in parts if p.kind == "fuse"]
    for p in parts:
        if p.kind == "fuse":
            yield fault(f"{p.ref} blown", FaultCode.FUSE_BLOWN, "fuse", [p.ref], _blown_fuse(p))
            kind, cold, sizes = "cold joint", [Move(p.ref, "ohms", 1.0)], joint_sizes(_fuse_ohms(p))
            if is_in_mains(p):
                cold, sizes = _weak_mains(p, parts)
                kind = "cold contact"
            yield fault(f"{p.ref} cold", FaultCode.COLD_JOINT, kind, [p.ref], cold, sizes=sizes)
        if p.kind == "switch" and is_in_mains(p):
            feeble, sizes = _weak_mains(p, parts)
            yield fault(f"{p.ref} cold", FaultCode.COLD_JOINT, "cold contact", [p.ref], feeble, sizes=sizes)
        if p.kind == "switch" and is_in_mains(p):
            yield fault(f"{p.ref} open", FaultCode.SWITCH_OPEN, "open", [p.ref], [NO_MAINS])
        if p.kind in ("diode", "bridge"):
            yield fault(f"{p.ref} open", FaultCode.DIODE_OPEN, "diode", [p.ref], without=(p.ref,))
            # On every other half wave it shorts the winding through the other diode, until a fuse goes.
            bridged = [diode_path(p)] if p.kind == "diode" else []
            for n, blown in enumerate(fuses):
                key = f"{p.ref} reversed" + (f" {n}" if n else "")
                yield fault(key, FaultCode.DIODE_REVERSED, "diode reversed", [p.ref], [*bridged, *blown])
            if p.kind == "diode" and (whole := turned_without_fuse(p, parts, diode_path(p))):
                yield whole
        if p.kind == "rectifier valve":
            dead, params = [Move(p.ref, "strength", SHORT)], {"type": p.type}
            yield fault(f"{p.ref} dead", FaultCode.RECTIFIER_DEAD, "dead", [p.ref], dead)
            yield fault(f"{p.ref} heater", FaultCode.VALVE_HEATER, "heater", [p.ref], dead, dead_heaters=(p.ref,))
            weak = [Move(p.ref, "strength", 0.3)]
            yield fault(f"{p.ref} weak", FaultCode.RECTIFIER_WEAK, "weak", [p.ref], weak, params)
            cold = [Move(p.ref, "strength", 1.0)]  # a resistance at its cathode, which passes as little
            at = {"pin": p.pin_of.get("cathode", ""), "electrode": "cathode", "section": ""}
            if at["pin"]:
                yield fault(f"{p.ref} cold", FaultCode.DRY_PIN, "cold pin", [p.ref], cold, at, sizes=PASSING)
                yield fault(f"{p.ref} {at['pin']} dry", FaultCode.DRY_PIN, "dry pin", [p.ref], dead, at)
            for pin in list_anodes(p):
                moves, key = (
                    [Move(f"{p.ref} joint {pin}", "value", DRY / JOINT, 0.0, Parasitic.ANODE)],
                    f"{p.ref}.{pin}",
                )
                place = {"pin": pin, "electrode": "anode", "section": ""}
                yield fault(f"{p.ref} {pin} dry", FaultCode.DRY_PIN, "dry pin", [p.ref], moves, place, no_ac=(key,))
    if any(p.kind == "mains transformer" for p in parts):
        yield from _mains()


def diode_path(p) -> Move:
    """What an ohmmeter's few tenths of a volt find through a diode that it turns on."""
    return Move(f"{p.ref}{BARRIER}", "value", THROUGH / NOWHERE, THROUGH_DECADES, Parasitic.DEVICE)


def _weak_mains(p, parts):
    """(moves, sizes) of a bad contact before the transformer: ohms in its primary's way. Before several of them, or
    before one whose primary is not known, so much of the mains is left."""
    iron = [t for t in parts if t.kind == "mains transformer"]
    if len(iron) == 1:
        ohms = winding_ohms(iron[0], list_primaries(iron[0])[0])
        return [Move(iron[0].ref, "primary ohms", 1.0)], joint_sizes(ohms)
    return [Move("line", "volts", 1.0)], FEEBLE


def is_in_mains(p) -> bool:
    return any(n.startswith("mains") for n in p.nodes)


def _blown_fuse(p) -> list[Move]:
    return [NO_MAINS] if is_in_mains(p) else [Move(p.ref, "ohms", opening_factor(_fuse_ohms(p)))]


def _fuse_ohms(p) -> float:
    return p.ohms or FUSE_VOLTS / (p.value or 1.0)


def _mains():
    for factor, code in ((0.5, FaultCode.TAP_FOR_TWICE), (2.0, FaultCode.TAP_FOR_HALF)):
        yield fault(f"tap x{factor:g}", code, "tap", [], [Move("line", "volts", factor)])
    for key, code, sizes in (
        ("mains x0.88", FaultCode.MAINS_LOW, MAINS_LOW),
        ("mains x1.12", FaultCode.MAINS_HIGH, MAINS_HIGH),
    ):
        yield fault(key, code, "mains", [], [Move("line", "volts", 1.0)], sizes=sizes)


def lamp_left_in(parts, conditions):
    """The series lamp of the first power still in circuit at a stage that is to be without it."""
    lamp = next((c.lamp_watts for c in conditions if c.lamp_watts), LAMP_WATTS)
    bare = [c for c in conditions if c.power == "on" and not c.lamp_watts and not c.supply_volts]
    if bare and any(p.kind == "mains transformer" for p in parts):
        yield fault("lamp left in", FaultCode.LAMP_LEFT_IN, "lamp", [], lamp_watts=lamp)
