"""A valve's heater as its pieces: the whole of it, or the two halves that meet at a joined centre pin."""

from typing import NamedTuple

from checks.circuit.valves.types import find_heater


class HeaterPiece(NamedTuple):
    """The nodes that a piece lies between, the volts it is rated for and the current it takes there."""

    a: str
    b: str
    volts: float
    amps: float


def heater_pieces(part) -> list[HeaterPiece]:
    """The pieces of a PartSpec's heater; none where the type's heater is not known or an end of it joins nothing."""
    heater = find_heater(part.type, part.limits) if part.type else None
    ends = [part.joins[t] for t in ("heater.1", "heater.2") if t in part.joins]
    if not heater or len(ends) < 2:
        return []
    one, other = ends
    if not heater.centre:
        return [HeaterPiece(one, other, heater.volts, heater.amps)]
    centre = part.joins.get("heater_centre")
    if centre is None:
        return [HeaterPiece(one, other, 2 * heater.volts, heater.amps / 2)]
    return [HeaterPiece(end, centre, heater.volts, heater.amps / 2) for end in ends]
