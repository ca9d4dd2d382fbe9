"""Heaters that get other volts than they are rated for."""

from dataclasses import dataclass

from checks.circuit.netlist.network import Network
from checks.circuit.solver.heaters import heater_volts, heaters_of
from checks.circuit.solver.operating_point import Operating
from checks.finite import refuse_unreal

ALLOWED = 0.10  # of rated volts, either way (valve makers' data: 5 % to 10 %; IEC 60134 leaves it to the sheet)
COOL = 0.7  # of rated volts, below which emission falls (common practice)


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


def nominal_heaters(net: Network, operating: Operating) -> list[HeaterVolts]:
    return [
        HeaterVolts(heater.ref, float(heater_volts(heater, operating.volts[:1], operating.ac[:1])[0]), heater.rated)
        for heater in heaters_of(net)
    ]


def off_rating(net: Network, operating: Operating) -> list[HeaterVolts]:
    """The heaters that get more than a tenth too much or too little."""
    return [heater for heater in nominal_heaters(net, operating) if heater.is_off]
