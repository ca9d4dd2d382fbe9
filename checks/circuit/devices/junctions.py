"""Diodes that do not charge a reservoir, Zener diodes and reference valves, as devices (see devices/valves.py)."""

from dataclasses import dataclass

from scipy.special import expit

from checks.circuit.valves.koren import softplus

KNEE = 0.05  # V over which a junction turns on
JUNCTION_OHMS, ZENER_OHMS = 1.0, 20.0  # slope resistances (assumed; small against what feeds them)


@dataclass(frozen=True)
class Junction:
    """A diode out of a supply's way, or with `breakdown` V (times a parameter) a Zener diode or reference valve."""

    ref: str
    anode: int
    cathode: int
    breakdown: float | None = None
    parameter: int = 0
    drop: float = 0.7

    name = ""

    @property
    def ports(self):
        return ((self.anode, self.cathode),)

    @property
    def currents(self):
        return self.ports

    def law(self, u, m, drive):
        v = u[:, 0]
        x = (v - self.drop) / KNEE
        idle = softplus(-self.drop / KNEE)  # taken off, so that nothing flows at 0 V
        current, slope = KNEE * (softplus(x) - idle) / JUNCTION_OHMS, expit(x) / JUNCTION_OHMS
        if self.breakdown is not None:
            y = (-v - self.breakdown * m[:, self.parameter]) / KNEE
            current, slope = current - KNEE * softplus(y) / ZENER_OHMS, slope + expit(y) / ZENER_OHMS
        return current[:, None], slope[:, None, None]
