"""What DC supplies and regulators bear: amps of either; watts and input volts of a regulator."""

import numpy as np

from checks.circuit.devices.sources import DirectSource
from checks.circuit.netlist.network import Network
from checks.circuit.ratings.circumstances import EVERYWHERE
from checks.circuit.solver.operating_point import Operating


def source_stresses(net: Network, operating: Operating):
    """Yield (ref, what, values (samples,), limit, unit, where it is judged) of those with ratings stated."""
    parts, before = {p.ref: p for p in net.parts}, (*net.banks, *net.valves, *net.junctions)
    at, port = (sum(len(getattr(d, of)) for d in before) for of in ("currents", "ports"))
    for device in net.sources:
        part, wide, ports = parts[device.ref], len(device.currents), len(device.ports)
        amps = operating.solution.currents[:, at : at + wide]
        volts = operating.solution.ports[:, port : port + ports]
        at, port = at + wide, port + ports
        if part.amps:
            drawn = amps[:, 0] - volts[:, 0] / device.ohms if isinstance(device, DirectSource) else amps[:, 0]
            yield part.ref, "current", np.abs(drawn), part.amps, "A", EVERYWHERE
        if isinstance(device, DirectSource):
            continue
        if part.power:
            watts = (volts[:, 0] - volts[:, 1]) * amps[:, 0] + volts[:, 0] * amps[:, 1]
            yield part.ref, "dissipation", watts, part.power, "W", EVERYWHERE
        if part.volts:
            yield part.ref, "input voltage", volts[:, 0], part.volts, "V", EVERYWHERE
