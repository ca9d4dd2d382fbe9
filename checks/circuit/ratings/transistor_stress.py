"""What transistors bear, against their parts list's power, volts and amps and their limits' gate_volts."""

import numpy as np

from checks.circuit.netlist.network import Network
from checks.circuit.netlist.transistors import MAIN, find_control
from checks.circuit.ratings.circumstances import EVERYWHERE
from checks.circuit.solver.operating_point import Operating


def transistor_stresses(net: Network, operating: Operating):
    """Yield (ref, what, values (samples,), limit, unit, where it is judged) of transistors with ratings stated.

    `power` is what the transistor may dissipate as it is mounted in the kit. These ratings are absolute maxima.
    """
    parts, volts = {p.ref: p for p in net.parts}, operating.volts
    at = len(operating.solution.currents[0]) - sum(len(d.currents) for d in net.transistors)
    for device in net.transistors:
        part = parts[device.ref]
        amps = operating.solution.currents[:, at : at + len(device.currents)]
        at += len(device.currents)
        across = volts[:, device.inward] - volts[:, device.outward]
        watts = sum(
            (volts[:, leaves] - volts[:, enters]) * amps[:, n] for n, (leaves, enters) in enumerate(device.currents)
        )
        into, out = MAIN[part.kind]
        for what, values, limit, unit in (
            ("dissipation", watts, part.power, "W"),
            (f"{into}-{out} voltage", np.abs(across), part.volts, "V"),
            (f"{into} current", np.abs(amps[:, 0]), part.amps, "A"),
        ):
            if limit:
                yield device.ref, what, values, limit, unit, EVERYWHERE
        if limit := part.limits.get("gate_volts"):
            source = device.inward if device.turned else device.outward
            gate = np.abs(volts[:, device.control] - volts[:, source])
            yield device.ref, f"{find_control(part.kind)}-source voltage", gate, limit, "V", EVERYWHERE
