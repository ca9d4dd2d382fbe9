"""Small circuits for signals, and slopes of a triode from its published equations by differences."""

import math

from checks.circuit import Condition, Signal
from checks.circuit.prediction.signals import solve_signal_point
from checks.circuit.valves.types import find_koren
from tests.checks.circuit.kits import parts_of, resistor


def supply(volts, node="ht"):
    joins = {"plus": node, "minus": "chassis"}
    return {"ref": "PS1", "kind": "dc supply", "value": f"{volts} V", "ohms": "0.001R", "joins": joins}


def film(ref, a, b, value):
    return {"ref": ref, "kind": "capacitor", "value": value, "joins": [a, b]}


def triode(ref="V1", anode="a", grid="g", cathode="k", type_="ECC83"):
    """One section alone, without its capacitances unless given."""
    joins = {"anode": anode, "grid": grid, "cathode": cathode}
    none = {f"{pair}_picofarads": 0 for pair in ("grid_anode", "grid_cathode", "anode_cathode")}
    return {"ref": ref, "kind": "triode", "type": type_, "base": "B9A", "joins": joins, "limits": none}


def stage(*more, anode="100k", cathode="1k5", ht=250):
    return [
        supply(ht),
        triode(),
        resistor("R1", "g", "chassis", "1M"),
        resistor("R2", "ht", "a", anode),
        resistor("R3", "k", "chassis", cathode),
        *more,
    ]


def operating(rows, into="g", **load):
    return solve_signal_point(parts_of(*rows), Condition(signal=Signal(into, **load)))


def volts(found, node):
    return float(found.volts[0, found.net.node(node)])


def slopes(found, anode="a", grid="g", cathode="k", type_="ECC83"):
    """(gm, rp, mu) by differences of N. Koren's triode equation written out again here."""
    k = find_koren(type_, {})

    def amps(va, vg):
        e1 = va / k.kp * math.log1p(math.exp(k.kp * (1 / k.mu + (vg + k.vct) / math.sqrt(k.kvb + va * va))))
        return 2 * e1**k.ex / k.kg1

    va, vg = volts(found, anode) - volts(found, cathode), volts(found, grid) - volts(found, cathode)
    gm = (amps(va, vg + 1e-4) - amps(va, vg - 1e-4)) / 2e-4
    rp = 2e-3 / (amps(va + 1e-3, vg) - amps(va - 1e-3, vg))
    return gm, rp, gm * rp
