"""How often each kind of fault happens, one beside another, before any kit has told its own."""

from checks.diagnosis.fault import Fault

WEIGHTS = {
    "open": 3.0,
    "short": 0.5,
    "decade": 1.0,
    "misread": 1.0,
    "swapped": 0.6,
    "capacitor short": 0.3,
    "leaky": 0.5,
    "reversed": 1.5,
    "dead": 1.0,
    "weak": 1.0,
    "gassy": 0.3,
    "heater": 1.5,
    "wrong socket": 0.5,
    "bridge": 0.8,
    "fuse": 2.0,
    "winding": 0.7,
    "mains": 1.0,
    "tap": 0.6,
    "diode": 1.2,
    "cold joint": 1.0,
    "dry pin": 1.0,
    "wrong pin": 0.8,
    "capacitor open": 0.5,
    "value": 1.0,
    "lamp": 1.0,
    "winding value": 0.4,
    "device open": 0.5,
    "device short": 1.0,
    "supply": 1.5,
}


def fault(key, code, kind, refs, moves=(), params=None, **more) -> Fault:
    """A fault with the weight of its kind. `params` go into its sentences, beside the part it is of."""
    whole = ({"part": refs[0]} if refs else {}) | (params or {})
    return Fault(key, "", kind, tuple(refs), WEIGHTS[kind], tuple(moves), code=code, params=whole, **more)
