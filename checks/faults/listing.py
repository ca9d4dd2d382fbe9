"""Every single fault of a kit that its parts list lets one think of, with prior weights.

Weights are relative and from experience of hand-built kits (common practice; invented where nothing is published): soldering
comes first, then wrong values, then components that fail. They are where learning from confirmed causes starts.
"""
from itertools import combinations

from checks.circuit.network import FUSE_VOLTS, winding_ohms
from checks.circuit.parts import PartSpec
from checks.codes import colour_bands, misreadings
from checks.errors import ChecksError
from checks.faults.fault import SHORT, Fault, Move, opened
from checks.faults.phantoms import DRY, JOINT, NOWHERE, bridges_of, named, sections_of, tags_of

WEIGHTS = {"open": 3.0, "short": 0.5, "decade": 1.0, "misread": 1.0, "swapped": 0.6, "capacitor short": 0.3, "leaky": 0.5,
           "reversed": 1.5, "dead": 1.0, "weak": 1.0, "gassy": 0.3, "heater": 1.5, "wrong socket": 0.5, "bridge": 0.8, "fuse": 2.0,
           "winding": 0.7, "mains": 1.0, "tap": 0.6, "diode": 1.2, "cold joint": 1.0, "dry pin": 1.0,
           "wrong pin": 0.8, "capacitor open": 0.5}
MOST_SWAPS = 40
COLD_JOINT = 1e4  # Ω in series
LEAK, REVERSED = 1.5e6, 4e3  # Ω across a leaky coupling capacitor; across an electrolytic the wrong way round


def fault_list(parts) -> list[Fault]:
    """All faults of a parts list (PartSpecs), each with a key of its own."""
    parts = list(parts)
    makers = (_resistors, _pots, _swaps, _capacitors, _valves, _sockets, _iron, _supply)
    found = {fault.key: fault for make in makers for fault in make(parts)}
    return list(found.values())


def _fault(key, words, kind, refs, moves=(), **more) -> Fault:
    return Fault(key, words, kind, tuple(refs), WEIGHTS[kind], tuple(moves), **more)


def _resistors(parts):
    for p in parts:
        if p.kind == "resistor":
            yield _fault(f"{p.ref} open", f"{p.ref} is open, not fitted, or one of its joints is not soldered", "open", [p.ref],
                         [Move(p.ref, "value", opened(p.value))], look=f"Look at both ends of {p.ref}; measure it with the power off.")
            yield _fault(f"{p.ref} short", f"{p.ref} is bridged by solder or a stray lead", "short", [p.ref],
                         [Move(p.ref, "value", SHORT)], look=f"Look for a bridge across {p.ref}.")
            yield from _wrong_values(p)
            if p.value < COLD_JOINT / 3:
                yield _fault(f"{p.ref} cold", f"{p.ref} has a cold joint", "cold joint", [p.ref],
                             [Move(p.ref, "value", 1 + COLD_JOINT / p.value)], look=f"Heat both joints of {p.ref} again.")


def _wrong_values(p: PartSpec):
    """A decade slip either way, and what its colours are likeliest taken for."""
    for factor, said in ((10.0, "ten times too large"), (0.1, "ten times too small")):
        yield _fault(f"{p.ref} x{factor:g}", f"{p.ref} is {said}: a decade slip", "decade", [p.ref], [Move(p.ref, "value", factor)],
                     look=f"Read the multiplier band of {p.ref} in daylight.")
    seen = {10.0, 0.1}
    for wrong in _misread(p.value)[:6]:
        factor = float(f"{wrong.ohms / p.value:.4g}")
        if factor not in seen and abs(factor - 1) > 0.15:
            seen.add(factor)
            words = f"{p.ref} is {wrong.ohms:g} Ω instead of {p.value:g} Ω ({wrong.reason})"
            yield _fault(f"{p.ref} as {wrong.ohms:g}", words, "misread", [p.ref], [Move(p.ref, "value", factor)],
                         look=f"Compare the colours of {p.ref} with the parts list.")


def _misread(ohms: float) -> tuple:
    try:
        return misreadings(colour_bands(ohms, 5))
    except ChecksError:
        return ()


def _pots(parts):
    for p in parts:
        if p.kind == "potentiometer":
            yield _fault(f"{p.ref} open", f"{p.ref}'s track is open or a tag is not soldered", "open", [p.ref],
                         [Move(p.ref, "value", opened(p.value))], look=f"Look at the three tags of {p.ref}.")


def _swaps(parts):
    """Pairs of resistors whose values differ by no more than thirty times: the likeliest to change places."""
    pairs = [(a, b) for a, b in combinations([p for p in parts if p.kind == "resistor"], 2)
             if a.value != b.value and 1 / 30 < a.value / b.value < 30]
    pairs.sort(key=lambda ab: max(ab[0].value / ab[1].value, ab[1].value / ab[0].value))
    for a, b in pairs[:MOST_SWAPS]:
        yield _fault(f"{a.ref} and {b.ref} swapped", f"{a.ref} and {b.ref} have changed places", "swapped", [a.ref, b.ref],
                     [Move(a.ref, "value", b.value / a.value), Move(b.ref, "value", a.value / b.value)],
                     look=f"Read {a.ref} and {b.ref} against the parts list.")


def _capacitors(parts):
    for p in parts:
        if p.kind not in ("capacitor", "electrolytic") or len(set(p.joins.values())) < 2:
            continue

        def across(ohms, ref=p.ref):
            return [Move(f"{ref} leak", "value", ohms / NOWHERE)]
        yield _fault(f"{p.ref} short", f"{p.ref} is shorted", "capacitor short", [p.ref], across(1.0), look=f"Lift one end of {p.ref}.")
        yield _fault(f"{p.ref} leaky", f"{p.ref} leaks", "leaky", [p.ref], across(LEAK if p.kind == "capacitor" else LEAK / 30),
                     look=f"Lift one end of {p.ref}, or replace it.")
        yield _fault(f"{p.ref} open", f"{p.ref} is open, not fitted, or one of its joints is not soldered", "capacitor open", [p.ref],
                     without=(p.ref,) if p.kind == "electrolytic" else (), look=f"Look at both ends of {p.ref}.")
        if p.kind == "electrolytic":
            yield _fault(f"{p.ref} reversed", f"{p.ref} is in the wrong way round", "reversed", [p.ref], across(REVERSED),
                         look=f"Find the minus stripe of {p.ref}. One that has been reversed under power is scrap.")


def _valves(parts):
    for p in parts:
        for s in sections_of(p):
            part = f"{p.ref} ({s})" if s else p.ref
            strength = f"{s} strength".strip()
            yield _fault(named(p.ref, "dead", s), f"{part} passes no current: it is dead or stays cold",
                         "dead", [p.ref], [Move(p.ref, strength, SHORT)], look=f"Does {p.ref} glow? Try another valve.")
            yield _fault(named(p.ref, "weak", s), f"{part} is weak", "weak", [p.ref], [Move(p.ref, strength, 0.35)],
                         look=f"Try another {p.type} in {p.ref}'s socket.")
            yield _fault(named(p.ref, "gassy", s), f"{part} has gas in it", "gassy", [p.ref],
                         [Move(named(p.ref, "gas", s), "value", 1.5e7 / NOWHERE)], look="Look for a blue glow between the electrodes.")
        if sections_of(p):
            moves = [Move(p.ref, f"{s} strength".strip(), SHORT) for s in sections_of(p)]
            yield _fault(f"{p.ref} heater", f"{p.ref}'s heater gets no volts, or is open", "heater", [p.ref], moves,
                         dead_heaters=(p.ref,), look=f"Does {p.ref} glow? Look at its heater pins.")
    yield from _exchanged([p for p in parts if sections_of(p)])


def _exchanged(valves):
    for a, b in combinations(valves, 2):
        if a.type != b.type:
            moves = [Move(v.ref, f"{s} strength".strip(), SHORT) for v in (a, b) for s in sections_of(v)]
            yield _fault(f"{a.ref} and {b.ref} exchanged", f"{a.ref} and {b.ref} are in each other's sockets", "wrong socket",
                         [a.ref, b.ref], moves, look="Read the types printed on the valves.")


def _sockets(parts):
    for p in parts:
        for a, b in bridges_of(p):
            yield _fault(f"{p.ref} bridge {a}-{b}", f"pins {a} and {b} of {p.ref} touch", "bridge", [p.ref],
                         [Move(f"{p.ref} bridge {a}-{b}", "value", 0.3 / NOWHERE)],
                         look=f"Look between pins {a} and {b} of {p.ref}'s socket.")
            for pin, other in ((a, b), (b, a)):
                if pin in tags_of(p):
                    yield _fault(f"{p.ref} {pin} on {other}", f"the wire of {p.ref} pin {pin} is on pin {other}", "wrong pin", [p.ref],
                                 [_dry(p, pin), Move(f"{p.ref} bridge {a}-{b}", "value", 0.3 / NOWHERE)],
                                 look=f"Count the pins of {p.ref}'s socket from the gap again.")
        for pin, terminal in tags_of(p).items():
            yield _fault(f"{p.ref} {pin} dry", f"pin {pin} of {p.ref} (the {_electrode(terminal)}) is not soldered", "dry pin", [p.ref],
                         [_dry(p, pin)], look=f"Heat pin {pin} of {p.ref}'s socket again. Is its wire on a pin that joins nothing?")


def _dry(p, pin) -> Move:
    return Move(f"{p.ref} joint {pin}", "value", DRY / JOINT)


def _electrode(terminal: str) -> str:
    section, _, name = terminal.rpartition(".")
    return f"{name} of section {section}" if section else name


def _iron(parts):
    for p in parts:
        for w in p.windings:
            if w.name != "primary" or p.kind == "output transformer":
                yield _fault(f"{p.ref} {w.name} open", f"{p.ref}'s {w.name} winding is open or not joined", "winding", [p.ref],
                             [Move(p.ref, f"{w.name} ohms", opened(winding_ohms(p, w)))],
                             look=f"Measure {p.ref}'s {w.name} winding with the power off.")
        if p.kind == "inductor":
            yield _fault(f"{p.ref} open", f"{p.ref} is open or not joined", "winding", [p.ref], [Move(p.ref, "ohms", opened(p.ohms))],
                         look=f"Measure {p.ref} with the power off.")


def _supply(parts):
    for p in parts:
        if p.kind == "fuse":
            inside = not any(n.startswith("mains") for n in p.nodes)
            moves = [Move(p.ref, "ohms", opened(p.ohms or FUSE_VOLTS / (p.value or 1.0)))] if inside else [Move("line", "volts", 1e-3)]
            yield _fault(f"{p.ref} blown", f"{p.ref} has blown or makes no contact", "fuse", [p.ref], moves,
                         look=f"Take {p.ref} out and measure it. A fuse blows for a reason.")
        if p.kind in ("diode", "bridge"):
            yield _fault(f"{p.ref} open", f"{p.ref} is open, not joined, or the wrong way round", "diode", [p.ref], without=(p.ref,),
                         look=f"Look for the ring on {p.ref}; measure it with the power off.")
        if p.kind == "rectifier valve":
            yield _fault(f"{p.ref} dead", f"{p.ref} is dead or its heater gets no volts", "dead", [p.ref],
                         [Move(p.ref, "strength", SHORT)], look=f"Does {p.ref} glow? Try another.")
            yield _fault(f"{p.ref} weak", f"{p.ref} is weak", "weak", [p.ref], [Move(p.ref, "strength", 0.3)],
                         look=f"Try another {p.type}.")
    if any(p.kind == "mains transformer" for p in parts):
        for factor, words in ((0.5, "the primary is wired for twice your mains"), (2.0, "the primary is wired for half your mains")):
            yield _fault(f"tap x{factor:g}", words, "tap", [], [Move("line", "volts", factor)],
                         look="Switch off. Compare the primary's wiring with the label on the transformer.")
        for factor, words in ((0.88, "the mains is far below what was assumed"), (1.12, "the mains is far above what was assumed")):
            yield _fault(f"mains x{factor:g}", words, "mains", [], [Move("line", "volts", factor)],
                         look="Read the mains with a plug-in meter.")
