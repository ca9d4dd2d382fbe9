"""Neon lamps as devices (see devices/valves.py): dark until they strike, then at their maintaining voltage.

A parts list gives the maintaining voltage as the `value` and `model = { strike = 85 }`. After switch-on a lamp is dark;
where its voltage passes the strike it lights and stays alight, at the maintaining voltage and some ohms, as long as
current flows. Either way round alike. Which lamps are alight is settled by the operating point, build by build.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import expit

from checks.circuit.netlist.parts import require_figure
from checks.circuit.valves.koren import softplus
from checks.finite import refuse_unreal

STRIKE = 1.35  # of the maintaining voltage, where no strike is given (common practice: 1.2 to 1.5)
NEON_OHMS = 2000.0  # slope of a lamp of a milliampere or less (assumed; the series resistor is far larger)
# Ω, V: of what carries more than lamps do, a stabiliser: 0A2, 0B2 and 0D3 hold within 2 V over 25 mA to 35 mA (their
# sheets, from memory).
STABLE_OHMS, STABLE_FROM = 80.0, 2.0
KNEE = 0.2  # V over which a lamp lets go
LEAST_AMPS = 1e-6  # A that light a lamp
DARK, ALIGHT = 1.0, 2.0  # values of the parameter "lit"


@dataclass(frozen=True)
class Neon:
    """A lamp between `one` and `other`; `lit` is the place of its state among the parameters."""

    ref: str
    one: int
    other: int
    volts: float
    strike: float
    parameter: int
    lit: int

    def __post_init__(self):
        refuse_unreal(self, "volts", "strike", above=0)

    name = ""

    @property
    def ports(self):
        return ((self.one, self.other),)

    @property
    def currents(self):
        return self.ports

    def law(self, u, m, drive):
        holds = np.where(m[:, self.lit] >= ALIGHT, self.volts, self.strike) * m[:, self.parameter]
        ahead, back = ((way * u[:, 0] - holds) / KNEE for way in (1.0, -1.0))
        current = KNEE * (softplus(ahead) - softplus(back)) / NEON_OHMS
        slope = (expit(ahead) + expit(back)) / NEON_OHMS
        more = 1 / STABLE_OHMS - 1 / NEON_OHMS
        ahead, back = ahead - STABLE_FROM / KNEE, back - STABLE_FROM / KNEE
        current = current + KNEE * (softplus(ahead) - softplus(back)) * more
        slope = slope + (expit(ahead) + expit(back)) * more
        return current[:, None], slope[:, None, None]


def list_neons(parts, nodes: dict, parameters) -> tuple[Neon, ...]:
    return tuple(_neon(p, nodes, parameters) for p in parts if p.kind == "neon")


def _neon(part, nodes: dict, parameters) -> Neon:
    one, other = (nodes[n] for n in part.joins.values())
    places = (parameters.index(part.ref, what) for what in ("value", "lit"))
    return Neon(
        part.ref,
        one,
        other,
        require_figure(part.value),
        part.model.get("strike") or STRIKE * require_figure(part.value),
        *places,
    )


def light(net, hot, currents):
    """Multipliers `hot` with the lamps alight whose currents (samples, all devices' currents) have struck them."""
    lit = hot
    for device, _ports, amps in net.columns():
        if isinstance(device, Neon):
            struck = np.abs(currents[:, amps][:, 0]) > LEAST_AMPS
            lit = lit.copy() if lit is hot else lit
            lit[:, device.lit] = np.where(struck, ALIGHT, lit[:, device.lit])
    return lit
