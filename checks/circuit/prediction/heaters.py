"""Heaters that get other volts than they are rated for."""

from dataclasses import dataclass

import numpy as np

from checks.circuit.netlist.network import Network
from checks.circuit.netlist.terminals import VALVES
from checks.circuit.solver.operating_point import Operating
from checks.circuit.valves.heaters import heater_pieces
from checks.finite import refuse_unreal

ALLOWED = 0.10  # of rated volts, either way (valve makers' data: 5 % to 10 %; IEC 60134 leaves it to the sheet)
COOL = 0.7  # of rated volts, below which emission falls (common practice)
FAR = 0.15  # of rated volts: more than mains and a lightly loaded winding make together (common practice)


@dataclass(frozen=True)
class HeaterVolts:
    """What a valve's heater gets and what it is rated for, in V (of each half, where it has two)."""

    ref: str
    volts: float
    rated: float

    def __post_init__(self):
        refuse_unreal(self, "volts")
        refuse_unreal(self, "rated", above=0)

    @property
    def is_off(self) -> bool:
        return abs(self.volts / self.rated - 1) > ALLOWED

    @property
    def is_cool(self) -> bool:
        return self.volts < COOL * self.rated

    @property
    def is_far(self) -> bool:
        """Is it further off than a line and a winding within their tolerances can explain?"""
        return abs(self.volts / self.rated - 1) > FAR


def nominal_heaters(net: Network, operating: Operating) -> list[HeaterVolts]:
    """Every heater by the piece of it that is furthest off its rating."""
    fitted = [p for p in net.parts if p.kind in VALVES and p.ref not in net.condition.not_fitted]
    heaters = []
    for part in fitted:
        pieces = heater_pieces(part)
        pieces_volts = [HeaterVolts(part.ref, _across(net, operating, p.a, p.b), p.volts) for p in pieces]
        heaters += [max(pieces_volts, key=lambda piece: abs(piece.volts / piece.rated - 1))] if pieces_volts else []
    return heaters


def _across(net: Network, operating: Operating, a: str, b: str) -> float:
    """rms V between two nodes, alternating and direct together; DC that is not calculated counts as none."""
    one, other = net.nodes[a], net.nodes[b]
    direct = np.nan_to_num(operating.volts[0, one] - operating.volts[0, other])
    return float(np.hypot(direct, operating.ac[0, one] - operating.ac[0, other]))


def off_rating(net: Network, operating: Operating) -> list[HeaterVolts]:
    """The heaters that get more than a tenth too much or too little."""
    return [heater for heater in nominal_heaters(net, operating) if heater.is_off]
