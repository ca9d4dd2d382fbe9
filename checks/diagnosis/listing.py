"""Every single fault of a kit that its parts list lets one think of, with prior weights.

Weights are relative and from experience of hand-built kits (common practice; invented where nothing is published):
soldering comes first, then wrong values, then components that fail. They are where learning from confirmed causes
starts.
"""

from itertools import combinations

from checks.circuit.netlist.parts import PartSpec, require_figure
from checks.circuit.rectifiers.reservoirs import RESERVOIR
from checks.codes import colour_bands, misreadings
from checks.diagnosis.codes import FaultCode, Parasitic
from checks.diagnosis.device_faults import list_device_faults
from checks.diagnosis.fault import BRIDGED, SHORT, Fault, Move, joint_sizes, opening_factor
from checks.diagnosis.parasitics import (
    DRY,
    JOINT,
    NOWHERE,
    STRAY,
    list_bridges,
    list_sections,
    list_tags,
    path_name,
    wrongly_heated_pins,
)
from checks.diagnosis.prior_weights import fault
from checks.diagnosis.stray_paths import path_faults, pin_leaks
from checks.diagnosis.supply_faults import list_supply_faults, list_winding_faults
from checks.errors import ChecksError

MOST_SWAPS = 80
# What comes in all sizes has a middle and how many decades it may be off it (common practice).
GUEST = 30.0  # Ω of half a heater, warm
# Ω across a leaky capacitor, from an insulation nearly gone up to what just moves a grid with a leak of a megohm;
# across an electrolytic that leaks;
# across one for few volts, as at a cathode; across one that is the wrong way round, which an ohmmeter's few tenths of
# a volt hardly find.
LEAK, LEAK_ELECTROLYTIC, LEAK_FEW_VOLTS, REVERSED = 5e6, 1.5e4, 1e3, 1e4
GAS = 2e7  # Ω from anode to grid: a microampere or a few, or a hundred (common practice)
WEAK = 0.35  # of its strength, what is left of a weak valve
IONS = 1e11  # Ω from anode to grid of a good valve: a nanoampere or a few (common practice)
# Of what a grid's tag without its wire leaks, from a dirty socket to a clean one (common practice).
ADRIFT = tuple(ohms / NOWHERE for ohms in (1e8, 1e9, 1e10, 3e10, 1e11, 1e12))
FEW_VOLTS = 100.0  # rating up to which an electrolytic counts as one for few volts
# Of the listed: neighbours in the E12 series (IEC 60063), of which the wrong one is picked most often, and further off.
VALUES = (0.05, 0.15, 0.3, 0.46, 0.56, 0.68, 0.82, 1.2, 1.5, 1.8, 2.2, 3.3, 6.0, 20.0)
SIZES = {"leaky": 2.25, "electrolytic": 1.3, "few volts": 1.6, "reversed": 2.4, "weak": 0.2, "gassy": 1.6}


PIN_SIZES = tuple(ohms / JOINT for ohms in (100.0, 1e3, 1e4, 1e5, 1e6))  # of a cold joint at a socket pin


def fault_list(parts) -> list[Fault]:
    """All faults of a parts list (PartSpecs), each with a key of its own."""
    parts = list(parts)
    makers = (
        _resistors,
        _pots,
        _swaps,
        _capacitors,
        _valves,
        _sockets,
        pin_leaks,
        list_device_faults,
        list_winding_faults,
        list_supply_faults,
    )
    faults = {one.key: one for make in makers for one in make(parts)}
    return [*faults.values(), *path_faults(parts, faults.values())]


def _resistors(parts):
    freed = _freed(parts)
    for p in parts:
        if p.kind == "resistor":
            drifts = dict.fromkeys(move for node in p.joins.values() for move in freed.get(node, ()))
            moves = [Move(p.ref, "value", opening_factor(p.value)), *drifts]
            yield fault(f"{p.ref} open", FaultCode.OPEN, "open", [p.ref], moves)
            yield fault(f"{p.ref} short", FaultCode.SHORT, "short", [p.ref], [Move(p.ref, "value", BRIDGED / p.value)])
            yield from _wrong_values(p)
            other = [Move(p.ref, "value", 1.0)]
            yield fault(f"{p.ref} other value", FaultCode.OTHER_VALUE, "value", [p.ref], other, sizes=VALUES)
            cold = [Move(p.ref, "value", 1.0)]
            yield fault(
                f"{p.ref} cold",
                FaultCode.COLD_JOINT,
                "cold joint",
                [p.ref],
                cold,
                sizes=joint_sizes(require_figure(p.value)),
            )


def _freed(parts) -> dict[str, list[Move]]:
    """Node -> what ions bring to the grids there, or one resistor further: hardly anything, but of a grid that nothing
    holds they decide where it goes."""
    moves_of: dict[str, list[Move]] = {}
    for p in parts:
        for s in list_sections(p):
            move = Move(path_name(p.ref, "gas", s), "value", IONS / NOWHERE)
            grid = p.joins[f"{s}.grid" if s else "grid"]
            near = {n for r in parts if r.kind == "resistor" and grid in r.joins.values() for n in r.joins.values()}
            for node in (near | {grid}) - {"chassis"}:
                moves_of.setdefault(node, []).append(move)
    return moves_of


def _wrong_values(p: PartSpec):
    """A decade slip either way, and what its colours are likeliest taken for."""
    for factor, code in ((10.0, FaultCode.TEN_TIMES_TOO_LARGE), (0.1, FaultCode.TEN_TIMES_TOO_SMALL)):
        yield fault(f"{p.ref} x{factor:g}", code, "decade", [p.ref], [Move(p.ref, "value", factor)])
    seen = {10.0, 0.1}
    for wrong in _misread(require_figure(p.value))[:6]:
        factor = float(f"{wrong.ohms / p.value:.4g}")
        if factor not in seen and abs(factor - 1) > 0.15:
            seen.add(factor)
            params = {"ohms": wrong.ohms, "listed": p.value, "slip": wrong.slip.value, "colours": list(wrong.colours)}
            move = Move(p.ref, "value", factor)
            yield fault(f"{p.ref} as {wrong.ohms:g}", FaultCode.MISREAD, "misread", [p.ref], [move], params)


def _misread(ohms: float) -> tuple:
    try:
        return misreadings(colour_bands(ohms, 5))
    except ChecksError:
        return ()


def _pots(parts):
    for p in parts:
        if p.kind == "potentiometer":
            yield fault(
                f"{p.ref} open", FaultCode.TRACK_OPEN, "open", [p.ref], [Move(p.ref, "value", opening_factor(p.value))]
            )


def _swaps(parts):
    """Pairs of resistors whose values differ by no more than thirty times: the likeliest to change places."""
    pairs = [
        (a, b)
        for a, b in combinations([p for p in parts if p.kind == "resistor"], 2)
        if a.value != b.value and 1 / 30 < a.value / b.value < 30
    ]
    pairs.sort(key=lambda ab: max(ab[0].value / ab[1].value, ab[1].value / ab[0].value))
    for a, b in pairs[:MOST_SWAPS]:
        moves = [Move(a.ref, "value", b.value / a.value), Move(b.ref, "value", a.value / b.value)]
        key, params = f"{a.ref} and {b.ref} swapped", {"other": b.ref}
        yield fault(key, FaultCode.CHANGED_PLACES, "swapped", [a.ref, b.ref], moves, params)


def _capacitors(parts):
    for p in parts:
        if p.kind not in ("capacitor", "electrolytic") or len(set(p.joins.values())) < 2:
            continue

        def across(ohms, size="", ref=p.ref):
            return [Move(f"{ref} leak", "value", ohms / NOWHERE, SIZES.get(size, 0.0), Parasitic.LEAK)]

        leak, size = _leak(p)
        fills = p.kind == "electrolytic" or require_figure(p.value) >= RESERVOIR  # what a rectifier may fill
        absent = (p.ref,) if fills else ()
        lost = [] if absent else [Move(p.ref, "farads", SHORT)]  # which only signals tell
        yield fault(f"{p.ref} short", FaultCode.CAPACITOR_SHORT, "capacitor short", [p.ref], across(BRIDGED))
        yield fault(f"{p.ref} leaky", FaultCode.CAPACITOR_LEAKY, "leaky", [p.ref], across(leak, size))
        yield fault(f"{p.ref} open", FaultCode.CAPACITOR_OPEN, "capacitor open", [p.ref], lost, without=absent)
        if p.kind == "electrolytic":
            moves = across(REVERSED, "reversed")
            yield fault(f"{p.ref} reversed", FaultCode.CAPACITOR_REVERSED, "reversed", [p.ref], moves)


def _leak(p: PartSpec) -> tuple[float, str]:
    """What a capacitor leaks through, and the name of its spread in SIZES."""
    if p.kind == "capacitor":
        return LEAK, "leaky"
    return (LEAK_FEW_VOLTS, "few volts") if (p.volts or 1e3) <= FEW_VOLTS else (LEAK_ELECTROLYTIC, "electrolytic")


def _valves(parts):
    for p in parts:
        for s in list_sections(p):
            strength, params = f"{s} strength".strip(), {"section": s, "type": p.type}
            dead, weak = Move(p.ref, strength, SHORT), Move(p.ref, strength, WEAK, SIZES["weak"])
            gas = Move(path_name(p.ref, "gas", s), "value", GAS / NOWHERE, SIZES["gassy"], Parasitic.GAS)
            yield fault(path_name(p.ref, "dead", s), FaultCode.VALVE_DEAD, "dead", [p.ref], [dead], params)
            yield fault(path_name(p.ref, "weak", s), FaultCode.VALVE_WEAK, "weak", [p.ref], [weak], params)
            yield fault(path_name(p.ref, "gassy", s), FaultCode.VALVE_GASSY, "gassy", [p.ref], [gas], params)
        if list_sections(p):
            moves = [Move(p.ref, f"{s} strength".strip(), SHORT) for s in list_sections(p)]
            key = f"{p.ref} heater"
            yield fault(key, FaultCode.VALVE_HEATER, "heater", [p.ref], moves, dead_heaters=(p.ref,))
        if len(list_sections(p)) > 1:  # its own heater has gone: the socket has its volts, and no half conducts
            params = {"section": "", "type": p.type}
            yield fault(f"{p.ref} dead", FaultCode.VALVE_DEAD, "dead", [p.ref], moves, params)
    yield from _exchanged(parts)


def _exchanged(parts):
    """Valves of two types that fit each other's sockets: neither works, and a heater may join what ought to be
    apart."""
    for a, b in combinations([p for p in parts if list_strengths(p)], 2):
        if a.type != b.type and a.base == b.base:
            moves = [Move(v.ref, strength, SHORT) for v in (a, b) for strength in list_strengths(v)]
            moves += [
                Move(f"{host.ref} guest {x}-{y}", "value", GUEST / NOWHERE, 0.0, Parasitic.GUEST)
                for host, guest in ((a, b), (b, a))
                for x, y in wrongly_heated_pins(host, guest)
            ]
            key, params = f"{a.ref} and {b.ref} exchanged", {"other": b.ref}
            yield fault(key, FaultCode.VALVES_EXCHANGED, "wrong socket", [a.ref, b.ref], moves, params)


def list_strengths(p: PartSpec) -> list[str]:
    """The parameters by which a valve conducts."""
    return ["strength"] if p.kind == "rectifier valve" else [f"{s} strength".strip() for s in list_sections(p)]


def _sockets(parts):
    for p in parts:
        for a, b in list_bridges(p):
            touch = Move(f"{p.ref} bridge {a}-{b}", "value", BRIDGED / NOWHERE, 0.0, Parasitic.BRIDGE)
            pins = {"pin": a, "other": b}
            yield fault(f"{p.ref} bridge {a}-{b}", FaultCode.PINS_TOUCH, "bridge", [p.ref], [touch], pins)
            for pin, other in ((a, b), (b, a)):
                if pin in list_tags(p):
                    key, params = f"{p.ref} {pin} on {other}", {"pin": pin, "other": other}
                    yield fault(key, FaultCode.WRONG_PIN, "wrong pin", [p.ref], [*_dry(p, pin), touch], params)
        for pin, terminal in list_tags(p).items():
            section, _, electrode = terminal.rpartition(".")
            params = {"pin": pin, "electrode": electrode, "section": section}
            moves, sizes = (_adrift(p, pin), ADRIFT) if electrode == "grid" else (_dry(p, pin), ())
            yield fault(f"{p.ref} {pin} dry", FaultCode.DRY_PIN, "dry pin", [p.ref], moves, params, sizes=sizes)
            cold = [Move(f"{p.ref} joint {pin}", "value", 1.0, 0.0, Parasitic.JOINT)]
            key, sizes = f"{p.ref} {pin} cold", PIN_SIZES
            yield fault(key, FaultCode.DRY_PIN, "cold pin", [p.ref], cold, params, sizes=sizes)


def _dry(p, pin) -> list[Move]:
    """No solder, and what a tag without its wire leaks to the chassis: only there, since it moves a sound grid."""
    return [_unsoldered(p, pin), Move(f"{p.ref} stray {pin}", "value", STRAY / NOWHERE, 0.0, Parasitic.JOINT)]


def _unsoldered(p, pin) -> Move:
    return Move(f"{p.ref} joint {pin}", "value", DRY / JOINT, 0.0, Parasitic.JOINT)


def _adrift(p, pin) -> list[Move]:
    """A grid without its wire: what its tag leaks, in ADRIFT, against the ions that reach it decides where it goes, and
    how much the valve conducts."""
    stray = Move(f"{p.ref} stray {pin}", "value", 1.0, 0.0, Parasitic.JOINT)
    ions = Move(f"{p.ref} ions {pin}", "value", IONS / NOWHERE, 0.0, Parasitic.JOINT)
    return [stray, _unsoldered(p, pin), ions]
