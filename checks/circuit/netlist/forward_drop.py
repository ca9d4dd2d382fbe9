"""The forward drop of a diode that is not plain silicon: an LED by its colour, anything by the guide's own figure."""

import re

from checks.circuit.netlist.parts import PartSpec

# V at 10 mA by an LED's colour (common practice: what data sheets of each material give).
LED_VOLTS = {
    "infrared": 1.2,
    "red": 1.8,
    "orange": 2.0,
    "amber": 2.0,
    "yellow": 2.1,
    "green": 2.1,
    "blue": 3.1,
    "white": 3.1,
}
LED_AMPS = 0.010
DROP_SPREAD = 0.10  # of an LED's drop, between makes and builds (common practice)


def is_led(part: PartSpec) -> bool:
    return part.kind == "diode" and bool(re.search(r"\bleds?\b", part.type, re.IGNORECASE))


def forward_drop(part: PartSpec) -> tuple[float, float] | None:
    """(V, A) of a diode whose drop is its own; None for plain silicon. Raises ChecksError for an LED without colour."""
    if part.kind != "diode":
        return None
    if part.model.get("volts"):
        return part.model["volts"], part.model.get("amps") or LED_AMPS
    if not is_led(part):
        return None
    named = re.findall(r"[a-z]+", part.type.lower())
    volts = next((LED_VOLTS[word] for word in named if word in LED_VOLTS), None)
    if volts is None:
        raise part.wrong("type", "is an LED: name its colour, or give its model volts and amps.", "led-drop")
    return volts, LED_AMPS
