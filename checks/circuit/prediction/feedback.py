"""Op-amps whose feedback is positive: the equilibrium that a solver finds is one that nothing can rest at."""

import numpy as np

from checks.circuit.devices.op_amps import OpAmp
from checks.circuit.netlist.network import Network
from checks.circuit.solver.newton import flows
from checks.circuit.solver.operating_point import Operating


def refuse_positive_feedback(net: Network, operating: Operating) -> None:
    """Raises ChecksError (code "positive-feedback") where an op-amp's inputs are joined so that it rests at one of its
    supplies, and which one depends on how it was switched on.

    With Z and the devices' slopes D, |I - Z D| is above zero as long as every loop's feedback is negative or less than
    one; a loop of more than one turns its sign, and so tells of itself by what its op-amp's gain does to that sign.
    """
    if not any(isinstance(device, OpAmp) for device in net.op_amps):
        return
    reduced = operating.solution.reduced
    _, slopes = flows(reduced, operating.solution.ports, reduced.m, operating.solution.drive)
    z, d = reduced.z[0], slopes[0]
    sign = _sign(z, d)
    for device, ports, _amps in net.columns():
        if isinstance(device, OpAmp):
            deaf = d.copy()
            deaf[:, ports.start] = 0.0  # its inputs do nothing
            if _sign(z, deaf) != sign:
                part = next(p for p in net.parts if p.ref == device.ref)
                why = "drives the output so that it holds itself at one supply: the inputs may be exchanged."
                raise part.wrong("joins.plus_input", why, "positive-feedback")


def _sign(z, d) -> float:
    return float(np.linalg.slogdet(np.eye(len(z)) - z @ d)[0])
