"""Paths that ought not to be there, and joints that ought to be: leaks across capacitors, bridges between neighbouring
pins, gas in valves, and the solder between a wire and its socket tag.

Each is put into the circuit as a resistor that changes nothing (a hundred million megohms, or a twentieth of an ohm),
so that every fault of a kit is the same network with other multipliers, and all of them are solved at once.
"""

from dataclasses import replace
from itertools import pairwise, permutations

from checks.circuit.netlist.op_amps import OP_AMP
from checks.circuit.netlist.parts import PartSpec
from checks.circuit.netlist.regulation import list_secondaries
from checks.circuit.netlist.sources import REGULATORS
from checks.circuit.netlist.terminals import SECTIONS, is_heater
from checks.circuit.netlist.transistors import BIPOLARS, MOSFETS
from checks.circuit.rectifiers.reservoirs import CAPACITORS, RESERVOIR
from checks.quantity import Tolerance

NOWHERE = 1e14  # Ω
JOINT, DRY, STRAY = 0.05, 1e10, 1e8  # Ω: a sound joint, none, and what a tag without its wire leaks to the chassis
SCATTER = Tolerance(0.5, 0.5)  # leaks come in all sizes
KNOWN = Tolerance(0.0, 0.0)  # what is drawn for no build, so that the rest is drawn as without it
BARRIER = " barrier"
# What a large capacitor passes of itself under voltage: it holds a supply that nothing else loads. An insulation of
# 10,000 s (Ω F), as of films; new electrolytics pass more (common practice).
STANDING, INSULATION = " standing", 1e4
BLOCKING = ("diode", "zener")
GASSY = ("triode", "pentode", "twin triode")
SHORTS = {
    **dict.fromkeys(MOSFETS, (("drain", "source"), ("gate", "source"))),
    **dict.fromkeys(BIPOLARS, (("collector", "emitter"), ("base", "emitter"))),
    **dict.fromkeys(REGULATORS, (("input", "output"),)),
    "zener": (("anode", "cathode"),),
    "neon": (("a", "b"),),
    OP_AMP: (("output", "plus_supply"), ("output", "minus_supply")),
}


def parasitics(parts) -> list[PartSpec]:
    """The phantom resistors of a parts list: "C7 leak", "V2 bridge 7-8", "V2 gas", "V1 gas a", "V2 guest 4-9" and
    "Q1 short drain-source", with the power off "D1 barrier", and with it on "C1 standing"."""
    return [
        *_leaks(parts),
        *_standing(parts),
        *_bridges(parts),
        *_gas(parts),
        *_wrong_valve_paths(parts),
        *_device_shorts(parts),
        *_barriers(parts),
    ]


def on_tags(parts) -> list[PartSpec]:
    """Parts (with parasitics, or not) whose valves are joined to their wires by joints ("V2 joint 7")."""
    return [*(_on_tags(part) for part in parts), *_joints(parts)]


def list_tags(part: PartSpec) -> dict[str, str]:
    """Socket pin -> terminal of the electrodes that a wire is soldered to, of valves that amplify."""
    electrodes = [
        name for s in list_sections(part) for name in (f"{s}.{e}" if s else e for e in SECTIONS[part.kind][s])
    ]
    return {pin: terminal for pin, terminal in part.pins.items() if terminal in electrodes}


def on_ends(parts) -> list[PartSpec]:
    """Parts whose tapped windings are joined to their wires at both ends ("T1 end ht 0")."""
    return [row for part in parts for row in (_with_ends(part) if part.windings else (part,))]


def on_anodes(parts) -> list[PartSpec]:
    """Parts whose rectifier valves are joined to their wires at the anodes ("V3 joint 1")."""
    return [row for part in parts for row in _with_anodes(part)]


def list_ends(part: PartSpec) -> list[tuple[str, int]]:
    """(winding, number of its end) of the tapped windings, each half of which may have a fault of its own."""
    tapped = [w for w in part.windings if len(w.nodes) == 3]
    if part.kind == "mains transformer":
        tapped = [w for w in tapped if w in list_secondaries(part)]
    return [(w.name, end) for w in tapped for end in (0, 2)]


def list_anodes(part: PartSpec) -> dict[str, str]:
    """Socket pin -> terminal of the anodes of a rectifier valve."""
    anodes = {pin: end for pin, end in part.pins.items() if end.startswith("anode")}
    return anodes if part.kind == "rectifier valve" and len(anodes) == 2 else {}


def _with_ends(part: PartSpec):
    windings = []
    for w in part.windings:
        nodes = list(w.nodes)
        for end in (end for name, end in list_ends(part) if name == w.name):
            nodes[end] = f"{part.ref} {w.name} end {end}"
            yield _joint(f"{part.ref} end {w.name} {end}", w.nodes[end], nodes[end])
        windings.append(replace(w, nodes=tuple(nodes)))
    yield replace(part, windings=tuple(windings))


def _with_anodes(part: PartSpec):
    joins = dict(part.joins)
    for pin, terminal in list_anodes(part).items():
        joins[terminal] = f"{part.ref}.{pin} tag"
        yield _joint(f"{part.ref} joint {pin}", part.joins[terminal], joins[terminal])
    yield replace(part, joins=joins)


def _joint(name: str, wire: str, end: str) -> PartSpec:
    return PartSpec(name, "resistor", value=JOINT, tolerance=SCATTER, joins={"a": wire, "b": end})


def _on_tags(part: PartSpec) -> PartSpec:
    tags = list_tags(part)
    return (
        replace(part, joins={**part.joins, **{t: f"{part.ref}.{pin} tag" for pin, t in tags.items()}}) if tags else part
    )


def _joints(parts):
    for part in parts:
        for pin, terminal in list_tags(part).items():
            tag = f"{part.ref}.{pin} tag"
            yield PartSpec(
                f"{part.ref} joint {pin}",
                "resistor",
                value=JOINT,
                tolerance=SCATTER,
                joins={"a": part.joins[terminal], "b": tag},
            )
            yield _resistor(f"{part.ref} stray {pin}", tag, "chassis")
            if terminal.endswith("grid"):
                yield _resistor(f"{part.ref} ions {pin}", tag, part.joins[terminal.replace("grid", "anode")])


def is_barrier(part: PartSpec) -> bool:
    """Is it what an ohmmeter may find through a diode? With the power on a diode is a diode."""
    return part.ref.endswith(BARRIER)


def is_standing(part: PartSpec) -> bool:
    """Is it what a large capacitor passes of itself? An ohmmeter waits until it shows nothing."""
    return part.ref.endswith(STANDING)


def _standing(parts):
    """Of those to the chassis: others stand in the way of alternating volts, and hold nothing."""
    for part in parts:
        ends = dict(zip(("a", "b"), part.joins.values(), strict=False))
        if (
            part.kind in CAPACITORS
            and part.value >= RESERVOIR
            and "chassis" in ends.values()
            and ends["a"] != ends["b"]
        ):
            ohms = INSULATION / part.value
            yield PartSpec(f"{part.ref}{STANDING}", "resistor", value=ohms, tolerance=KNOWN, joins=ends)


def _barriers(parts):
    for part in parts:
        if part.kind in BLOCKING and part.joins["anode"] != part.joins["cathode"]:
            yield _resistor(f"{part.ref}{BARRIER}", part.joins["anode"], part.joins["cathode"])


def _resistor(name: str, a: str, b: str) -> PartSpec:
    return PartSpec(name, "resistor", value=NOWHERE, tolerance=SCATTER, joins={"a": a, "b": b})


def _leaks(parts):
    for part in parts:
        if part.kind in CAPACITORS:
            ends = tuple(part.joins.values())
            if ends[0] != ends[1]:
                yield _resistor(f"{part.ref} leak", *ends)


def list_bridges(part: PartSpec) -> list[tuple[str, str]]:
    """Neighbouring pins of a socket that join different nodes."""
    pins = sorted((pin for pin in part.pins if pin.isdigit()), key=int)
    return [(a, b) for a, b in pairwise(pins) if int(b) == int(a) + 1 and _node(part, a) != _node(part, b)]


def _node(part, pin: str) -> str:
    return part.joins[part.pins[pin]]


def list_shorts(part: PartSpec) -> list[tuple[str, str]]:
    """Terminals of a semiconductor that a failure may short, where they join different nodes."""
    return [(a, b) for a, b in SHORTS.get(part.kind, ()) if part.joins[a] != part.joins[b]]


def _device_shorts(parts):
    for part in parts:
        for a, b in list_shorts(part):
            yield _resistor(f"{part.ref} short {a}-{b}", part.joins[a], part.joins[b])


def _bridges(parts):
    for part in parts:
        for a, b in list_bridges(part):
            yield _resistor(f"{part.ref} bridge {a}-{b}", _node(part, a), _node(part, b))


def wrongly_heated_pins(host: PartSpec, guest: PartSpec) -> list[tuple[str, str]]:
    """Pins of a valve's socket that the heater of another type would join, and that ought to be apart."""
    pins = sorted(pin for pin, terminal in guest.pins.items() if is_heater(terminal) and pin in host.pins)
    return [
        (a, b)
        for a, b in pairwise(pins)
        if _node(host, a) != _node(host, b) and not all(is_heater(host.pins[pin]) for pin in (a, b))
    ]


def _wrong_valve_paths(parts):
    guests: dict[str, tuple[str, str]] = {}
    for host, guest in permutations([p for p in parts if p.pins], 2):
        if host.type != guest.type and host.base == guest.base:
            guests |= {
                f"{host.ref} guest {a}-{b}": (_node(host, a), _node(host, b))
                for a, b in wrongly_heated_pins(host, guest)
            }
    return [_resistor(name, *ends) for name, ends in guests.items()]


def list_sections(part: PartSpec) -> list[str]:
    return list(SECTIONS[part.kind]) if part.kind in GASSY else []


def path_name(ref: str, what: str, section: str) -> str:
    return f"{ref} {what} {section}".strip()


def _gas(parts):
    for part in parts:
        for section in list_sections(part):
            start = f"{section}." if section else ""
            yield _resistor(
                path_name(part.ref, "gas", section), part.joins[f"{start}anode"], part.joins[f"{start}grid"]
            )
