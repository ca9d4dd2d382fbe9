"""Where it is worth measuring: heaters and rails first, then every valve pin that tells something, then currents."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from builds.guides.mains_side import MainsSide
from builds.guides.wiring.components import list_components
from builds.guides.wiring.ends import End, list_ends
from checks.circuit.netlist.terminals import VALVES, is_heater
from checks.circuit.netlist.wires import CHASSIS
from checks.errors import ChecksError
from checks.measures import VOLTS
from checks.quantity import parse_quantity
from checks.schematic.nets import read_nets
from checks.schematic.units import list_units
from checks.serials import natural

RESERVOIR = 2e-6  # F: from here on a capacitor to chassis makes its point a rail (common practice)
RAIL_VOLTS = 100.0  # rating from which it is a high-voltage one


@dataclass(frozen=True)
class Candidate:
    """One reading: `what` is a code for its title, with `of` and `pin` to fill it in."""

    what: str
    measure: str
    red: str
    black: str = CHASSIS
    of: str = ""
    electrode: str = ""
    through: str = ""

    @property
    def probe(self) -> tuple[str, str, str, str | None]:
        return self.red, self.black, self.measure, self.through or None

    @property
    def is_grid(self) -> bool:
        return self.electrode.split()[-1:] == ["grid"]


class Kit:
    """The parts as what can be measured at them."""

    def __init__(self, parts: list[dict]):
        self.parts = sorted(parts, key=lambda row: natural(row["ref"]))
        self.mains = MainsSide.of(parts)
        self.has_earth = any(
            row.get("kind") == "connector"
            and {e.point for e in list_ends(row)} & {*self.mains.nodes}
            and _is_earthed(row)
            for row in parts
        )
        self.valves = [row for row in self.parts if row.get("kind") in VALVES and row.get("pins")]

    def rails(self) -> list[str]:
        """Points of the supply that a reservoir or smoothing capacitor holds, in the order of the parts list."""
        units, _left_out = list_units(list_components(self.parts))
        supply = read_nets(units).rails
        nodes: list[str] = []
        for row in self.parts:
            points = [end.point for end in list_ends(row)]
            if row.get("kind") in ("electrolytic", "capacitor") and CHASSIS in points and _is_reservoir(row):
                nodes += [p for p in points if p in supply and p not in (*nodes, *self.mains.nodes)]
        return nodes

    def biased(self, rails: list[str]) -> list[End]:
        """Grids whose leak leads to a rail: the bias has to be there before the valve is."""
        fed = {p for row in self.parts if row.get("kind") == "resistor" for p in _other_points(row, {*rails})}
        grids = [end for row in self.valves for end in self.ends(row) if end.terminal.rpartition(".")[2] == "grid"]
        near = fed | {p for row in self.parts if row.get("kind") == "resistor" for p in _other_points(row, fed)}
        return [end for end in grids if end.point in near and not self._is_coupled_directly(end.point)]

    def _is_coupled_directly(self, point: str) -> bool:
        """Is the point an anode or a cathode as well?"""
        return any(
            end.point == point and not end.terminal.endswith("grid") for row in self.valves for end in list_ends(row)
        )

    def ends(self, row: dict) -> list[End]:
        """The wired pins of a valve, each once, but those at the chassis."""
        seen, pins = set(), []
        for end in list_ends(row):
            if end.pin and end.point and end.point != CHASSIS and end.pin not in seen:
                seen.add(end.pin)
                pins.append(end)
        return pins

    def heaters(self):
        """(valve, two pins across its heater) of each valve whose heater is wired."""
        for row in self.valves:
            ends = {end.terminal: end for end in list_ends(row) if is_heater(end.terminal) and end.pin}
            one, other, centre = (ends.get(name) for name in ("heater.1", "heater.2", "heater_centre"))
            if one and other and one.point and one.point == other.point and centre:
                other = centre
            if one and other and one.point and other.point and one.point != other.point:
                yield row, one, other


def _is_earthed(row: dict) -> bool:
    return any(end.terminal == "earth" and end.point == CHASSIS for end in list_ends(row))


def _is_reservoir(row: dict) -> bool:
    try:
        return (parse_quantity(row.get("value", ""), "F").value or 0) >= RESERVOIR
    except ChecksError:
        return False


def _other_points(row: dict, points: set[str]) -> set[str]:
    """The other end of a part with two ends, where one is among the points."""
    ends = [end.point for end in list_ends(row)]
    return {p for p in ends if p and p not in points and p != CHASSIS} if points & {*ends} else set()


def cold_candidates(kit: Kit) -> list[Candidate]:
    """The mains earth, then resistances before power."""
    candidates = (
        [
            Candidate(
                "earth-bond", "continuity", "=" + _("the earth pin of the mains lead's plug, pulled out of the wall")
            )
        ]
        if kit.has_earth
        else []
    )
    candidates += [Candidate("rail-ohms", "resistance", rail, of=rail) for rail in kit.rails()]
    for row in kit.valves:
        for end in kit.ends(row):
            if not is_heater(end.terminal):
                candidates.append(_at(end, "pin-ohms", "resistance"))
    candidates += [
        Candidate("heater-ohms", "resistance", one.address, other.address, row["ref"])
        for row, one, other in kit.heaters()
    ]
    return candidates


def candidates_without_valves(kit: Kit) -> list[Candidate]:
    """Heaters and rails, then what the sockets have before a valve is in them: the bias first."""
    candidates = _first(kit)
    candidates += [_at(end, "pin-volts", "dc volts") for end in kit.biased(kit.rails())]
    for row in kit.valves:
        for end in kit.ends(row):
            if end.terminal.rpartition(".")[2] in ("anode", "screen", "anode_1"):
                candidates.append(_at(end, "pin-volts", "dc volts"))
    return candidates


def candidates_with_valves(kit: Kit) -> list[Candidate]:
    """Heaters and rails, each electrode, and the current of each cathode resistor."""
    candidates = _first(kit)
    for row in kit.valves:
        for end in kit.ends(row):
            name = end.terminal.rpartition(".")[2]
            if row["kind"] == "rectifier valve" and name != "cathode":
                continue
            if name in ("anode", "screen", "cathode", "grid"):
                candidates.append(_at(end, "pin-volts", "dc volts"))
    return candidates + list(_currents(kit))


def _first(kit: Kit) -> list[Candidate]:
    heaters = [
        Candidate("heater-volts", measure, one.address, other.address, row["ref"])
        for row, one, other in kit.heaters()
        for measure in sorted(VOLTS)  # AC first, as most heaters are fed
    ]
    return heaters + [Candidate("rail-volts", "dc volts", rail, of=rail) for rail in kit.rails()]


def _at(end: End, what: str, measure: str) -> Candidate:
    return Candidate(what, measure, end.address, of=end.ref, electrode=end.terminal.replace(".", " ").replace("_", " "))


def _currents(kit: Kit):
    """Across each resistor from a cathode to the chassis."""
    cathodes = {
        end.point: end for row in kit.valves for end in kit.ends(row) if end.terminal.rpartition(".")[2] == "cathode"
    }
    for row in kit.parts:
        points = [end.point for end in list_ends(row)]
        if row.get("kind") == "resistor" and CHASSIS in points:
            other = next((p for p in points if p != CHASSIS), "")
            if other in cathodes:
                yield Candidate("current", "current", cathodes[other].address, of=row["ref"], through=row["ref"])
