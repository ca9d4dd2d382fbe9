"""Parts made into what is drawn: each section of a valve by itself, heaters apart, parts without a wire left out."""

from checks.circuit.netlist.terminals import SECTIONS, VALVES, is_heater
from checks.schematic.model import CHASSIS, Component, Unit

_NOT_DRAWN = ("hardware", "test resistor", "test battery")


def list_units(components: list[Component]) -> tuple[list[Unit], list[str]]:
    """(what is drawn, the references of parts that join nothing; "V1b" is a valve's section that is not used)."""
    units: list[Unit] = []
    left_out = []
    for part in components:
        made = [unit for unit in _units(part) if unit.nets]
        spare = [unit for unit in made if unit.kind in VALVES and unit.name and unit.nets == {CHASSIS}]
        left_out += [f"{unit.ref}{unit.name}" for unit in spare]
        units += [unit for unit in made if unit not in spare]
        if not made:
            left_out.append(part.ref)
    return units, left_out


def _units(part: Component) -> list[Unit]:
    if part.kind in _NOT_DRAWN:
        return []
    if part.kind in VALVES:
        return _of_valve(part)
    return [Unit(part.ref, "", part.kind, part.joins, part.pins, part.windings, part.captions, part.form)]


def _of_valve(part: Component) -> list[Unit]:
    heater = {t: net for t, net in part.joins.items() if is_heater(t)}
    sections = []
    for section in SECTIONS[part.kind]:
        start = f"{section}." if section else ""
        joins = {t: n for t, n in part.joins.items() if t.startswith(start) and t not in heater}
        sections.append(_unit(part, section, part.kind, joins))
    sections.append(_unit(part, "heater", "heater", heater))
    return sections


def _unit(part: Component, name: str, kind: str, joins: dict[str, str]) -> Unit:
    pins = {t: pin for t, pin in part.pins.items() if t in joins}
    captions = part.captions if name != "heater" else ()
    return Unit(part.ref, name, kind, joins, pins, (), captions, part.form)
