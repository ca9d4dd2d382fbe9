"""What op-amps bear: the supply between their supply pins, and the current at their output."""

import numpy as np

from checks.circuit.devices.op_amps import OpAmp
from checks.circuit.netlist.network import Network
from checks.circuit.ratings.circumstances import EVERYWHERE
from checks.circuit.solver.operating_point import Operating


def op_amp_stresses(net: Network, operating: Operating):
    """Yield (ref, what, values (samples,), limit, unit, where it is judged) of op-amps with ratings stated."""
    parts = {p.ref: p for p in net.parts}
    for device, ports, currents in net.columns():
        if not isinstance(device, OpAmp):
            continue
        part = parts[device.ref]
        if part.volts:
            supply = operating.solution.ports[:, ports][:, 2]
            yield part.ref, "supply voltage", np.abs(supply), part.volts, "V", EVERYWHERE
        if part.amps:
            amps = operating.solution.currents[:, currents]
            yield part.ref, "output current", np.abs(amps[:, 0] - amps[:, 1]), part.amps, "A", EVERYWHERE
