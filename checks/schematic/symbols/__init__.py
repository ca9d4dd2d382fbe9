"""The symbols of IEC 60617 as strokes: one for every kind of part that joins anything."""

from checks.schematic.model import Unit
from checks.schematic.symbols import others, two_ended, valves
from checks.schematic.symbols.strokes import MIRROR, TURNS, Symbol, shifted, turned

_BUILT = {
    "triode": valves.triode,
    "twin triode": valves.triode,
    "pentode": valves.pentode,
    "rectifier valve": valves.rectifier,
    "heater": valves.heater,
    "n-channel mosfet": others.transistor,
    "p-channel mosfet": others.transistor,
    "npn transistor": others.transistor,
    "pnp transistor": others.transistor,
    "op-amp": others.op_amp,
    "regulator": others.regulator,
    "negative regulator": others.regulator,
    "bridge": others.bridge,
    "mains transformer": others.transformer,
    "output transformer": others.transformer,
    "connector": others.connector,
}


def is_two_ended(unit: Unit) -> bool:
    return unit.kind in two_ended.STROKES


def ends_in_order(unit: Unit) -> tuple[str, str]:
    return two_ended.STROKES[unit.kind][0]


def draw_symbol(unit: Unit) -> Symbol:
    """The symbol about its own origin, not turned. Raises KeyError for a kind that has none."""
    if unit.kind == "diode" and unit.form == "led":
        return two_ended.two_ended("led")
    if is_two_ended(unit):
        return two_ended.two_ended(unit.kind)
    if unit.kind == "potentiometer":
        return two_ended.potentiometer()
    return _BUILT[unit.kind](unit)


__all__ = ["MIRROR", "TURNS", "Symbol", "ends_in_order", "is_two_ended", "shifted", "draw_symbol", "turned"]
