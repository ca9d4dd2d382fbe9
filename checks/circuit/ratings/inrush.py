"""What a thermistor leaves of the inrush current at switch-on."""

import math
from dataclasses import dataclass

from checks.circuit.assemble.network import build_network
from checks.circuit.netlist.conditions import Condition
from checks.circuit.netlist.parts import require_figure
from checks.finite import finite_figures


@finite_figures
@dataclass(frozen=True)
class Inrush:
    """The greatest current that can flow from the mains at switch-on, in A, cold, with the thermistors and without.

    It is the peak of the highest permitted line over the ohms in its way: a saturated core can let so much through, and
    no more. What the magnetising inductance takes off is left out.
    """

    ref: str
    thermistors: tuple[str, ...]
    amps: float
    without: float


def inrush_currents(parts, condition: Condition) -> list[Inrush]:
    """Of every mains transformer with a thermistor in its lead. Raises ChecksError as the network does."""
    net = build_network(parts, condition.at_highest_line())
    by_ref, inrushes = {p.ref: p for p in net.parts}, []
    for feed in net.feeds:
        limiters = [by_ref[ref] for ref in feed.lead_refs if by_ref[ref].kind == "thermistor"]
        others = [r.ohms for r in net.resistives if r.ref in feed.lead_refs and by_ref[r.ref].kind != "thermistor"]
        rest = sum(others) + sum(ohms for ohms, _ in feed.ohms) / net.condition.winding_factor
        if limiters and rest > 0 and not feed.broken:
            peak = math.sqrt(2) * feed.volts * net.condition.line_factor
            cold = sum(require_figure(p.value) for p in limiters)
            refs = tuple(p.ref for p in limiters)
            inrushes.append(Inrush(feed.ref, refs, peak / (rest + cold), peak / rest))
    return inrushes
