"""Paths that no part makes: flux, carbon or a whisker of solder between neighbouring tags, insulation that leaks from a
cathode to its heater or to the chassis, wires that touch. Each may have any ohms.

They are put into the circuit as resistors that change nothing (see parasitics.py), but only where such a fault is
solved: paths between all nodes would make one piece of a circuit that comes in many.
"""

from dataclasses import dataclass
from itertools import combinations

from checks.circuit.netlist.parts import PartSpec
from checks.diagnosis.codes import FaultCode, Parasitic
from checks.diagnosis.fault import Fault, Move
from checks.diagnosis.node_neighbours import FAR, merged, steps_between
from checks.diagnosis.overload import supply_nodes
from checks.diagnosis.parasitics import NOWHERE, SCATTER, list_bridges, list_sections
from checks.diagnosis.prior_weights import fault
from checks.diagnosis.supply_faults import is_in_mains

MOST = 400  # paths that a list holds
PATH_OHMS = (300.0, 1.6e3, 8e3, 4e4, 2e5, 1e6)  # of a path anywhere
PIN_OHMS = (30.0, 300.0, 3e3, 2e4, 1e5, 5e5, 3e6)  # of what flux, dirt or carbon makes between two tags
SHARE = 0.04  # of all faults, that are a path between points which are no neighbours (invented)
LIKELIER = 4.0  # times another path: insulation, and what hangs on a supply, an anode or a grid
CHASSIS = "chassis"


@dataclass(frozen=True)
class Path:
    """Two nodes, in order, and the part whose insulation would fail there, if one's."""

    ends: tuple[str, str]
    ref: str = ""
    is_likelier: bool = False

    @property
    def name(self) -> str:
        return f"path {self.ends[0]} to {self.ends[1]}"


def pin_leaks(parts) -> list[Fault]:
    """Faults of what lies between neighbouring pins of a socket and is no short."""
    return [_pin_leak(part, *pins) for part in parts for pins in list_bridges(part)]


def _pin_leak(part: PartSpec, pin: str, other: str) -> Fault:
    leak = Move(f"{part.ref} bridge {pin}-{other}", "value", 1.0, 0.0, Parasitic.BRIDGE)
    sizes = tuple(ohms / NOWHERE for ohms in PIN_OHMS)
    key, params = f"{part.ref} leak {pin}-{other}", {"pin": pin, "other": other}
    return fault(key, FaultCode.PINS_LEAK, "pin leak", [part.ref], [leak], params, sizes=sizes)


def path_faults(parts, others) -> list[Fault]:
    """Faults of all other paths, SHARE of all beside the faults `others`."""
    paths = list_paths(parts)
    whole = SHARE / (1 - SHARE) * sum(one.weight for one in others)
    each = whole / max(1.0, sum(LIKELIER if path.is_likelier else 1.0 for path in paths))
    return [_fault(path, each * (LIKELIER if path.is_likelier else 1.0), parts) for path in paths]


def _fault(path: Path, weight: float, parts) -> Fault:
    move = Move(path.name, "value", 1.0, 0.0, Parasitic.PATH)
    one, other = path.ends
    at = {"one_at": _found_at(one, path, parts), "other_at": _found_at(other, path, parts)}
    params = {"one": one, "other": other, **at}
    sizes, refs = tuple(ohms / NOWHERE for ohms in PATH_OHMS), (path.ref,) if path.ref else ()
    return Fault(path.name, "", "path", refs, weight, (move,), code=FaultCode.STRAY_PATH, params=params, sizes=sizes)


def _found_at(node: str, path: Path, parts) -> str:
    """Where a node is found: a socket pin ("V2.7"), of the part whose insulation it is if it has one there, else a part
    ("C7"); nothing for the chassis."""
    if node == CHASSIS:
        return ""
    pins = [f"{part.ref}.{pin}" for part in parts for pin in part.pins if _at(part, pin) == node]
    own = [pin for pin in pins if path.ref and pin.startswith(f"{path.ref}.")]
    return next(iter([*own, *pins, *(part.ref for part in parts if node in part.nodes)]), "")


def with_paths(parts) -> list[PartSpec]:
    """Parts (with parasitics, or not) with a resistor that changes nothing on every path."""
    parts = list(parts)
    kit = [part for part in parts if " " not in part.ref]
    return [*parts, *(_resistor(path) for path in list_paths(kit))]


def _resistor(path: Path) -> PartSpec:
    a, b = path.ends
    return PartSpec(path.name, "resistor", value=NOWHERE, tolerance=SCATTER, joins={"a": a, "b": b})


def list_paths(parts) -> list[Path]:
    """The likelier paths, then those between pins of one socket, then others to the chassis, then the rest, nearest
    first; MOST of them at the most. Neighbouring pins have faults of their own. Of paths that end only a few ohms
    apart, no reading tells one from another: the first stands for them."""
    parts = [part for part in parts if not is_in_mains(part) or part.windings]
    stands = merged(parts)

    def wires(one: str, other: str) -> tuple[str, str]:
        return _ends(*(stands.get(node, node) for node in (one, other)))  # nothing may be joined to the chassis

    taken = {wires(_at(part, a), _at(part, b)) for part in parts for a, b in list_bridges(part)}
    paths: dict[tuple[str, str], Path] = {}
    for path in (*_insulation(parts), *_to_chassis(parts), *_of_sockets(parts), *_others(parts)):
        between = wires(*path.ends)
        if between not in taken and between[0] != between[1]:
            paths.setdefault(between, path)
    return list(paths.values())[:MOST]


def _at(part: PartSpec, pin: str) -> str:
    return part.joins[part.pins[pin]]


def _ends(a: str, b: str) -> tuple[str, str]:
    """In order, the chassis last."""
    one, other = sorted((a, b))
    return (other, one) if one == CHASSIS else (one, other)


def _insulation(parts):
    """Between heater and cathode, and between anode and grid, of valves that amplify."""
    for part in parts:
        heater = next((node for end, node in part.joins.items() if end.startswith("heater")), None)
        for section in list_sections(part):
            start = f"{section}." if section else ""
            if heater:
                yield Path(_ends(part.joins[f"{start}cathode"], heater), part.ref, True)
            yield Path(_ends(part.joins[f"{start}anode"], part.joins[f"{start}grid"]), part.ref, True)


def _to_chassis(parts):
    supplies = supply_nodes(parts)
    nodes = dict.fromkeys(node for part in parts for node in part.nodes if node in supplies)
    for part in parts:
        for section in list_sections(part):
            start = f"{section}." if section else ""
            nodes |= dict.fromkeys((part.joins[f"{start}anode"], part.joins[f"{start}grid"]))
    return [Path(_ends(node, CHASSIS), "", True) for node in nodes]


def _of_sockets(parts):
    for part in parts:
        yield from (Path(_ends(_at(part, a), _at(part, b))) for a, b in combinations(sorted(part.pins), 2))


def _others(parts):
    """To the chassis first, whose metal is near everything; then nearest first, and of those as near, in the order of
    the parts list."""
    nodes = dict.fromkeys(node for part in parts for node in part.nodes if not node.startswith("mains"))
    steps = steps_between(parts)
    near = sorted(combinations(nodes, 2), key=lambda pair: -1 if CHASSIS in pair else steps.get(pair, FAR))
    return (Path(_ends(a, b)) for a, b in near)
