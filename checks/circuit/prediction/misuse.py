"""Regulators that do not hold their output, and semiconductors that conduct the wrong way round."""

from collections.abc import Callable

from checks.circuit.devices.junctions import Junction
from checks.circuit.devices.sources import Regulator
from checks.circuit.devices.transistors import Bipolar, Mosfet
from checks.circuit.netlist.network import Network
from checks.circuit.netlist.remark import Remark, RemarkCode, remark
from checks.circuit.solver.operating_point import Operating

HELD = 0.1  # of its volts: a regulator's output further off is not held (sheets print 4 % to 5 %)
FED = 1.0  # V at a regulator's input or output, below which nothing feeds it
CONDUCTING = 0.3  # V the wrong way, beyond which a junction or a body diode begins to conduct (common practice)
LEAST_AMPS = 1e-6  # A backwards through a transistor that are a current, and not the rest of a solution


def misused_devices(net: Network, operating: Operating) -> list[Remark]:
    """One remark for each, in the order of the devices."""
    judges: dict[type, Callable] = {
        Regulator: _not_held,
        Junction: _forward,
        Mosfet: _backwards,
        Bipolar: _collector_below_emitter,
    }
    remarks = []
    solution = operating.solution
    for device, ports, currents in net.columns():
        if judge := judges.get(type(device)):
            misuse = judge(device, net, solution.ports[0, ports], solution.currents[0, currents])
            remarks += [misuse] if misuse else []
    return remarks


def _not_held(device: Regulator, net: Network, volts, amps) -> Remark | None:
    inward, output = (float(v) for v in volts)
    if max(abs(inward), abs(output)) < FED or abs(output - device.volts) <= HELD * device.volts:
        return None
    return remark(RemarkCode.REGULATOR_OFF, ref=device.ref, volts=round(output, 2), rated=device.volts)


def _forward(device: Junction, net: Network, volts, amps) -> Remark | None:
    """A Zener diode as a plain diode, unless another faces it, as in a pair that clamps both ways."""
    if device.breakdown is None or volts[0] < CONDUCTING:
        return None
    others = [j for j in net.junctions if j.breakdown is not None and j.ref != device.ref]
    if any(j.anode == device.anode or j.cathode == device.cathode for j in others):
        return None
    return remark(RemarkCode.ZENER_FORWARD, ref=device.ref)


def _backwards(device: Mosfet, net: Network, volts, amps) -> Remark | None:
    """By its body diode, or by its channel."""
    return remark(RemarkCode.MOSFET_BACKWARDS, ref=device.ref) if amps[0] < -LEAST_AMPS else None


def _collector_below_emitter(device: Bipolar, net: Network, volts, amps) -> Remark | None:
    return remark(RemarkCode.TRANSISTOR_TURNED, ref=device.ref) if volts[0] - volts[1] < -CONDUCTING else None
