"""What may be wrong with a kit, as codes: sentences for them are made by whoever shows them."""

from enum import StrEnum


class FaultCode(StrEnum):
    OWN = "own"  # the designer's own, in the designer's words
    OPEN = "open"
    SHORT = "short"
    TEN_TIMES_TOO_LARGE = "ten times too large"
    TEN_TIMES_TOO_SMALL = "ten times too small"
    MISREAD = "misread"
    OTHER_VALUE = "other value"
    COLD_JOINT = "cold joint"
    TRACK_OPEN = "track open"
    CHANGED_PLACES = "changed places"
    CAPACITOR_SHORT = "capacitor short"
    CAPACITOR_LEAKY = "capacitor leaky"
    CAPACITOR_OPEN = "capacitor open"
    CAPACITOR_REVERSED = "capacitor reversed"
    VALVE_DEAD = "valve dead"
    VALVE_WEAK = "valve weak"
    VALVE_GASSY = "valve gassy"
    VALVE_HEATER = "valve heater"
    VALVES_EXCHANGED = "valves exchanged"
    PINS_TOUCH = "pins touch"
    PINS_LEAK = "pins leak"
    STRAY_PATH = "stray path"
    WRONG_PIN = "wrong pin"
    DRY_PIN = "dry pin"
    WINDING_OPEN = "winding open"
    WINDING_VOLTS = "winding volts"
    WINDING_OHMS = "winding ohms"
    TRANSFORMER_VOLTS = "transformer volts"
    CHOKE_OPEN = "choke open"
    CHOKE_OHMS = "choke ohms"
    FUSE_BLOWN = "fuse blown"
    SWITCH_OPEN = "switch open"
    DIODE_OPEN = "diode open"
    DIODE_REVERSED = "diode reversed"
    DIODE_TURNED = "diode turned"
    RECTIFIER_DEAD = "rectifier dead"
    RECTIFIER_WEAK = "rectifier weak"
    DEVICE_OPEN = "device open"
    DEVICE_SHORT = "device short"
    ZENER_REVERSED = "zener reversed"
    LEADS_EXCHANGED = "leads exchanged"
    PASSES_INPUT = "passes its input"
    SUPPLY_DEAD = "supply dead"
    SUPPLY_VOLTS = "supply volts"
    SUPPLY_REVERSED = "supply reversed"
    BATTERY_FLAT = "battery flat"
    TAP_FOR_TWICE = "tap for twice the mains"
    TAP_FOR_HALF = "tap for half the mains"
    MAINS_LOW = "mains low"
    MAINS_HIGH = "mains high"
    LAMP_LEFT_IN = "lamp left in"


class Parasitic(StrEnum):
    """Paths that ought not to be there, and joints that ought to be."""

    LEAK = "leak"
    BRIDGE = "bridge"
    GAS = "gas"
    HALF = "half cycle"
    GUEST = "guest"
    JOINT = "joint"
    END = "end"
    ANODE = "anode"
    DEVICE = "device"
    PATH = "path"


class Likelihood(StrEnum):
    """How likely a cause is, in four steps."""

    VERY_LIKELY = "very likely"
    LIKELY = "likely"
    POSSIBLE = "possible"
    LESS_LIKELY = "less likely"

    @classmethod
    def of(cls, probability: float) -> "Likelihood":
        return next(name for least, name in _STEPS if probability >= least)


_STEPS = (
    (0.8, Likelihood.VERY_LIKELY),
    (0.5, Likelihood.LIKELY),
    (0.15, Likelihood.POSSIBLE),
    (0.0, Likelihood.LESS_LIKELY),
)
