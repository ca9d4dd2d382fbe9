"""Paths that ought not to be there: leaks across capacitors, bridges between neighbouring pins, gas in valves.

Each is put into the circuit as a resistor of a hundred million megohms, which changes nothing, so that every fault of a kit is the same
network with other multipliers, and all of them are solved at once.
"""
from itertools import pairwise

from checks.circuit.parts import PartSpec
from checks.circuit.terminals import SECTIONS
from checks.quantity import Tolerance

NOWHERE = 1e14  # Ω
SCATTER = Tolerance(0.5, 0.5)  # leaks come in all sizes
GASSY = ("triode", "pentode", "twin triode")


def phantoms(parts) -> list[PartSpec]:
    """The phantom resistors of a parts list: "C7 leak", "V2 bridge 7-8", "V2 gas", "V1 gas a"."""
    return [*_leaks(parts), *_bridges(parts), *_gas(parts)]


def _resistor(name: str, a: str, b: str) -> PartSpec:
    return PartSpec(name, "resistor", value=NOWHERE, tolerance=SCATTER, joins={"a": a, "b": b})


def _leaks(parts):
    for part in parts:
        if part.kind in ("capacitor", "electrolytic"):
            ends = tuple(part.joins.values())
            if ends[0] != ends[1]:
                yield _resistor(f"{part.ref} leak", *ends)


def bridges_of(part: PartSpec) -> list[tuple[str, str]]:
    """Neighbouring pins of a socket that join different nodes."""
    pins = sorted((pin for pin in part.pins if pin.isdigit()), key=int)
    return [(a, b) for a, b in pairwise(pins) if int(b) == int(a) + 1 and _node(part, a) != _node(part, b)]


def _node(part, pin: str) -> str:
    return part.joins[part.pins[pin]]


def _bridges(parts):
    for part in parts:
        for a, b in bridges_of(part):
            yield _resistor(f"{part.ref} bridge {a}-{b}", _node(part, a), _node(part, b))


def sections_of(part: PartSpec) -> list[str]:
    return list(SECTIONS[part.kind]) if part.kind in GASSY else []


def named(ref: str, what: str, section: str) -> str:
    return f"{ref} {what} {section}".strip()


def _gas(parts):
    for part in parts:
        for section in sections_of(part):
            start = f"{section}." if section else ""
            yield _resistor(named(part.ref, "gas", section), part.joins[f"{start}anode"], part.joins[f"{start}grid"])
