"""Thermistors that limit the inrush current, as a parts list gives them.

`value` is the cold resistance (25 °C), `ohms` the hot one at `amps`. Cold is what an ohmmeter reads with the power off
and what limits the current at switch-on. With the power on the resistance goes with the current's power -1.3 between
the two (sheets of the usual disc types print exponents of -1.2 to -1.4: common practice).
"""

from checks.circuit.netlist.parts import PartSpec, require_figure

OHMS_EXPONENT = -1.3
HOTTER = 0.7  # of the hot resistance, which it does not fall below


def hot_share(part: PartSpec, amps):
    """Ohms at `amps` (any array) over the hot ohms."""
    share = (abs(amps) / require_figure(part.amps) + 1e-12) ** OHMS_EXPONENT
    return share.clip(HOTTER, require_figure(part.value) / require_figure(part.ohms))
