"""Every single fault of a kit that its parts list lets one think of, with prior weights.

Weights are relative and from experience of hand-built kits (common practice; invented where nothing is published):
soldering comes first, then wrong values, then components that fail. They are where learning from confirmed causes
starts.
"""

from itertools import combinations

from checks.circuit.netlist.parts import PartSpec
from checks.codes import colour_bands, misreadings
from checks.diagnosis.fault import SHORT, Fault, Move, opened
from checks.diagnosis.parasitics import DRY, JOINT, NOWHERE, bridges_of, guests_of, named, sections_of, tags_of
from checks.diagnosis.prior_weights import fault
from checks.diagnosis.supply_faults import iron, supply
from checks.errors import ChecksError
from checks.quantity import format_quantity

MOST_SWAPS = 80
# What comes in all sizes has a middle and how many decades it may be off it (common practice).
COLD_JOINT, COLD_RETURN = 1e4, 1e7  # Ω in series: of a joint; of the return of a grid, where less does no harm
GUEST = 30.0  # Ω of half a heater, warm
LEAK, REVERSED = 1.5e6, 4e3  # Ω across a leaky coupling capacitor; across an electrolytic the wrong way round
SIZES = {"cold": 1.0, "leaky": 0.7, "reversed": 0.5, "weak": 0.15, "gassy": 0.5}


def fault_list(parts) -> list[Fault]:
    """All faults of a parts list (PartSpecs), each with a key of its own."""
    parts = list(parts)
    makers = (_resistors, _pots, _swaps, _capacitors, _valves, _sockets, iron, supply)
    found = {one.key: one for make in makers for one in make(parts)}
    return list(found.values())


def _resistors(parts):
    grids = {p.joins[t] for p in parts for t in tags_of(p).values() if t.endswith("grid")}
    for p in parts:
        if p.kind == "resistor":
            yield fault(
                f"{p.ref} open",
                f"{p.ref} is open, not fitted, or one of its joints is not soldered",
                "open",
                [p.ref],
                [Move(p.ref, "value", opened(p.value))],
                look=f"Look at both ends of {p.ref}; measure it with the power off.",
            )
            yield fault(
                f"{p.ref} short",
                f"{p.ref} is bridged by solder or a stray lead",
                "short",
                [p.ref],
                [Move(p.ref, "value", SHORT)],
                look=f"Look for a bridge across {p.ref}.",
            )
            yield from _wrong_values(p)
            cold = COLD_JOINT if p.value < COLD_JOINT / 3 else COLD_RETURN if _returns(p, grids) else None
            if cold:
                yield fault(
                    f"{p.ref} cold",
                    f"{p.ref} has a cold joint",
                    "cold joint",
                    [p.ref],
                    [Move(p.ref, "value", 1 + cold / p.value, SIZES["cold"])],
                    look=f"Heat both joints of {p.ref} again.",
                )


def _returns(p: PartSpec, grids) -> bool:
    """Does a resistor return a grid to the chassis?"""
    ends = set(p.joins.values())
    return "chassis" in ends and bool(ends & grids)


def _wrong_values(p: PartSpec):
    """A decade slip either way, and what its colours are likeliest taken for."""
    for factor, said in ((10.0, "ten times too large"), (0.1, "ten times too small")):
        yield fault(
            f"{p.ref} x{factor:g}",
            f"{p.ref} is {said}: a decade slip",
            "decade",
            [p.ref],
            [Move(p.ref, "value", factor)],
            look=f"Read the multiplier band of {p.ref} in daylight.",
        )
    seen = {10.0, 0.1}
    for wrong in _misread(p.value)[:6]:
        factor = float(f"{wrong.ohms / p.value:.4g}")
        if factor not in seen and abs(factor - 1) > 0.15:
            seen.add(factor)
            words = f"{p.ref} is {_ohms(wrong.ohms)} instead of {_ohms(p.value)} ({wrong.reason})"
            yield fault(
                f"{p.ref} as {wrong.ohms:g}",
                words,
                "misread",
                [p.ref],
                [Move(p.ref, "value", factor)],
                look=f"Compare the colours of {p.ref} with the parts list.",
            )


def _ohms(value: float) -> str:
    """As printed in a parts list: "47 kΩ"."""
    return format_quantity(value, "Ω", 2 if float(f"{value:.2g}") == value else 3)


def _misread(ohms: float) -> tuple:
    try:
        return misreadings(colour_bands(ohms, 5))
    except ChecksError:
        return ()


def _pots(parts):
    for p in parts:
        if p.kind == "potentiometer":
            yield fault(
                f"{p.ref} open",
                f"{p.ref}'s track is open or a tag is not soldered",
                "open",
                [p.ref],
                [Move(p.ref, "value", opened(p.value))],
                look=f"Look at the three tags of {p.ref}.",
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
        yield fault(
            f"{a.ref} and {b.ref} swapped",
            f"{a.ref} and {b.ref} have changed places",
            "swapped",
            [a.ref, b.ref],
            [Move(a.ref, "value", b.value / a.value), Move(b.ref, "value", a.value / b.value)],
            look=f"Read {a.ref} and {b.ref} against the parts list.",
        )


def _capacitors(parts):
    for p in parts:
        if p.kind not in ("capacitor", "electrolytic") or len(set(p.joins.values())) < 2:
            continue

        def across(ohms, size="", ref=p.ref):
            return [Move(f"{ref} leak", "value", ohms / NOWHERE, SIZES.get(size, 0.0))]

        yield fault(
            f"{p.ref} short",
            f"{p.ref} is shorted",
            "capacitor short",
            [p.ref],
            across(1.0),
            look=f"Lift one end of {p.ref}.",
        )
        yield fault(
            f"{p.ref} leaky",
            f"{p.ref} leaks",
            "leaky",
            [p.ref],
            across(LEAK if p.kind == "capacitor" else LEAK / 30, "leaky"),
            look=f"Lift one end of {p.ref}, or replace it.",
        )
        yield fault(
            f"{p.ref} open",
            f"{p.ref} is open, not fitted, or one of its joints is not soldered",
            "capacitor open",
            [p.ref],
            without=(p.ref,) if p.kind == "electrolytic" else (),
            look=f"Look at both ends of {p.ref}.",
        )
        if p.kind == "electrolytic":
            yield fault(
                f"{p.ref} reversed",
                f"{p.ref} is in the wrong way round",
                "reversed",
                [p.ref],
                across(REVERSED, "reversed"),
                look=f"Find the minus stripe of {p.ref}. One that has been reversed under power is scrap.",
            )


def _valves(parts):
    for p in parts:
        for s in sections_of(p):
            part = f"{p.ref} ({s})" if s else p.ref
            strength = f"{s} strength".strip()
            yield fault(
                named(p.ref, "dead", s),
                f"{part} passes no current: it is dead or stays cold",
                "dead",
                [p.ref],
                [Move(p.ref, strength, SHORT)],
                look=f"Does {p.ref} glow? Try another valve.",
            )
            yield fault(
                named(p.ref, "weak", s),
                f"{part} is weak",
                "weak",
                [p.ref],
                [Move(p.ref, strength, 0.35, SIZES["weak"])],
                look=f"Try another {p.type} in {p.ref}'s socket.",
            )
            yield fault(
                named(p.ref, "gassy", s),
                f"{part} has gas in it",
                "gassy",
                [p.ref],
                [Move(named(p.ref, "gas", s), "value", 1.5e7 / NOWHERE, SIZES["gassy"])],
                look="Look for a blue glow between the electrodes.",
            )
        if sections_of(p):
            moves = [Move(p.ref, f"{s} strength".strip(), SHORT) for s in sections_of(p)]
            yield fault(
                f"{p.ref} heater",
                f"{p.ref}'s heater gets no volts, or is open",
                "heater",
                [p.ref],
                moves,
                dead_heaters=(p.ref,),
                look=f"Does {p.ref} glow? Look at its heater pins.",
            )
    yield from _exchanged(parts)


def _exchanged(parts):
    """Valves of two types that fit each other's sockets: neither works, and a heater may join what ought to be
    apart."""
    for a, b in combinations([p for p in parts if strengths_of(p)], 2):
        if a.type != b.type and a.base == b.base:
            moves = [Move(v.ref, strength, SHORT) for v in (a, b) for strength in strengths_of(v)]
            moves += [
                Move(f"{host.ref} guest {x}-{y}", "value", GUEST / NOWHERE)
                for host, guest in ((a, b), (b, a))
                for x, y in guests_of(host, guest)
            ]
            yield fault(
                f"{a.ref} and {b.ref} exchanged",
                f"{a.ref} and {b.ref} are in each other's sockets",
                "wrong socket",
                [a.ref, b.ref],
                moves,
                look="Read the types printed on the valves.",
            )


def strengths_of(p: PartSpec) -> list[str]:
    """The parameters by which a valve conducts."""
    return ["strength"] if p.kind == "rectifier valve" else [f"{s} strength".strip() for s in sections_of(p)]


def _sockets(parts):
    for p in parts:
        for a, b in bridges_of(p):
            yield fault(
                f"{p.ref} bridge {a}-{b}",
                f"pins {a} and {b} of {p.ref} touch",
                "bridge",
                [p.ref],
                [Move(f"{p.ref} bridge {a}-{b}", "value", 0.3 / NOWHERE)],
                look=f"Look between pins {a} and {b} of {p.ref}'s socket.",
            )
            for pin, other in ((a, b), (b, a)):
                if pin in tags_of(p):
                    yield fault(
                        f"{p.ref} {pin} on {other}",
                        f"the wire of {p.ref} pin {pin} is on pin {other}",
                        "wrong pin",
                        [p.ref],
                        [_dry(p, pin), Move(f"{p.ref} bridge {a}-{b}", "value", 0.3 / NOWHERE)],
                        look=f"Count the pins of {p.ref}'s socket from the gap again.",
                    )
        for pin, terminal in tags_of(p).items():
            yield fault(
                f"{p.ref} {pin} dry",
                f"pin {pin} of {p.ref} (the {_electrode(terminal)}) is not soldered",
                "dry pin",
                [p.ref],
                [_dry(p, pin)],
                look=f"Heat pin {pin} of {p.ref}'s socket again. Is its wire on a pin that joins nothing?",
            )


def _dry(p, pin) -> Move:
    return Move(f"{p.ref} joint {pin}", "value", DRY / JOINT)


def _electrode(terminal: str) -> str:
    section, _, name = terminal.rpartition(".")
    return f"{name} of section {section}" if section else name
