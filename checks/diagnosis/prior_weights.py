"""How often each kind of fault happens, one beside another, before any kit has told its own."""

from checks.diagnosis.codes import FaultCode
from checks.diagnosis.fault import Fault

WEIGHTS = {
    "open": 3.0,
    "short": 0.5,
    "decade": 1.0,
    "misread": 0.4,
    "swapped": 0.2,
    "capacitor short": 0.3,
    "leaky": 0.5,
    "reversed": 1.5,
    "dead": 1.0,
    "weak": 1.0,
    "gassy": 0.3,
    "heater": 1.5,
    "wrong socket": 0.5,
    "bridge": 0.8,
    "pin leak": 0.3,
    "fuse": 2.0,
    "winding": 0.7,
    "winding half": 0.4,
    "mains": 1.0,
    "tap": 1.0,
    "diode": 1.2,
    "diode reversed": 0.25,
    "diode turned": 0.25,
    "cold joint": 1.0,
    "dry pin": 1.0,
    "cold pin": 0.3,
    "cold contact": 0.5,
    "wrong pin": 0.8,
    "capacitor open": 0.5,
    "value": 2.0,
    "lamp": 1.0,
    "winding value": 0.8,
    "device open": 0.5,
    "device short": 1.0,
    "leads exchanged": 0.8,
    "supply": 1.5,
}
LATE = {  # how often a fault of a kind appears only with the first power: broken down, or opened by warmth (invented)
    FaultCode.OPEN: 0.2,
    FaultCode.TRACK_OPEN: 0.2,
    FaultCode.COLD_JOINT: 0.2,
    FaultCode.DRY_PIN: 0.2,
    FaultCode.SHORT: 0.1,
    FaultCode.CAPACITOR_SHORT: 0.3,
    FaultCode.CAPACITOR_LEAKY: 0.3,
    FaultCode.CAPACITOR_REVERSED: 0.3,
    FaultCode.WINDING_OPEN: 0.2,
    FaultCode.WINDING_OHMS: 0.1,
    FaultCode.CHOKE_OPEN: 0.2,
    FaultCode.CHOKE_OHMS: 0.1,
    FaultCode.FUSE_BLOWN: 0.7,
    FaultCode.DIODE_OPEN: 0.3,
    FaultCode.DEVICE_OPEN: 0.3,
    FaultCode.DEVICE_SHORT: 0.5,
}


def fault(key, code, kind, refs, moves=(), params=None, **more) -> Fault:
    """A fault with the weight of its kind. `params` go into its sentences, beside the part it is of."""
    whole = ({"part": refs[0]} if refs else {}) | (params or {})
    return Fault(key, "", kind, tuple(refs), WEIGHTS[kind], tuple(moves), code=code, params=whole, **more)
