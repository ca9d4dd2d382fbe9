"""How long this kit takes to discharge, from its parts list: capacitors of the supply and what bleeds them."""
from dataclasses import dataclass

from checks.errors import ChecksError
from checks.quantity import parse_quantity
from checks.safety import TOUCH_DC, discharge_seconds


@dataclass(frozen=True)
class Discharge:
    seconds: float
    bleeders: tuple[str, ...]
    capacitors: tuple[str, ...]


def discharge_of(revision, start_volts: float) -> Discharge | None:
    """Worst-case time to the touch limit after switch-off; None when no resistor bleeds the supply.

    All electrolytics rated above 100 V are taken as one capacitance (+20 %) behind the resistors that join their
    positive side to chassis; droppers between them are small beside a bleeder.
    """
    big = [part for part in revision.parts.all() if part.kind == "electrolytic" and _value(part.detail.get("volts"), "V") >= 100]
    nodes = {(part.detail.get("joins") or [""])[0] for part in big}
    bleeders = [part for part in revision.parts.all() if part.kind == "resistor" and _bleeds(part, nodes)]
    if not big or not bleeders:
        return None
    farads = sum(_value(part.value, "F") for part in big) * 1.2
    ohms = 1.05 / sum(1 / _value(part.value, "Ω") for part in bleeders)
    return Discharge(discharge_seconds(ohms, farads, start_volts, TOUCH_DC), tuple(p.ref for p in bleeders),
                     tuple(p.ref for p in big))


def _bleeds(part, nodes) -> bool:
    ends = set(part.detail.get("joins") or [])
    return "chassis" in ends and bool(ends & nodes) and _value(part.value, "Ω") > 0


def _value(text, unit) -> float:
    try:
        return parse_quantity(str(text), unit).value or 0.0
    except ChecksError:
        return 0.0
