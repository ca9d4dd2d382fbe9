"""How far apart good valves of one type are in the current they pass at the same volts: beside their strength they
differ in amplification.

The valve conducts by what its anode or screen volts, divided by the amplification, leave of its grid's. Where a fixed
bias nearly cuts it off, that is a small difference of two large volts, and a few per cent of amplification are a fifth
or more of the current: which is why output valves are sold in matched pairs.
"""

from dataclasses import replace

import numpy as np

from checks.circuit.devices.valves import Pentode, Triode
from checks.circuit.netlist.tolerances import AMPLIFICATION
from checks.diagnosis.codes import FaultCode
from checks.diagnosis.listing import SIZES, WEAK

SPREAD = AMPLIFICATION.plus / 2  # standard deviation of the logarithm: limits are at two
WEAKER = -float(np.log(WEAK * 10 ** SIZES["weak"]))  # logarithm of the strength of the least weak one of the list
STEP, MOST = 0.01, 0.4  # of the amplification, over which its effect is taken; a current's largest standard deviation


def current_spreads(bench) -> dict[tuple[str, str], float]:
    """(valve, section) -> standard deviation of the logarithm of its current, at the volts of a nominal kit. Of valves
    that were tested it is known better; what a signal reads scatters with the amplification already."""
    if bench.nominal is None or bench.net.condition.signal is not None:
        return {}
    tested = {part.ref: part.tested for part in bench.parts if part.tested}
    solution = bench.nominal.solution
    spreads, at = {}, 0
    for device in bench.net.devices:
        volts, at = solution.ports[:1, at : at + len(device.ports)], at + len(device.ports)
        if isinstance(device, Triode | Pentode) and device.name not in tested.get(device.ref, ()):
            spreads[device.ref, device.name] = _current_spread(
                device, volts, solution.reduced.m[:1], solution.drive[:1]
            )
    return spreads


def _current_spread(device, volts, m, drive) -> float:
    less, more = (
        _current(replace(device, koren=replace(device.koren, mu=device.koren.mu * factor)), volts, m, drive)
        for factor in (1 - STEP, 1 + STEP)
    )
    if not (less > 0 and more > 0):
        return 0.0
    return min(MOST, SPREAD * abs(np.log(more / less)) / (2 * STEP))


def _current(device, volts, m, drive) -> float:
    return float(device.law(volts, m, drive)[0][0, 0])


def amplification_scatter(faults, solved, mean, size_row, size_mean):
    """(n, n): covariance of what good kits read, beyond that of their valves' strengths; along what a weak valve of its
    kind would do. `solved` (Solved) are those of all conditions, in the order of the columns."""
    whole = np.zeros((mean.shape[1],) * 2)
    for row, fault in enumerate(faults, start=1):
        sizes = size_mean[size_row == row]
        if fault.code is not FaultCode.VALVE_WEAK or not len(sizes):
            continue
        named = fault.refs[0], fault.params.get("section", "")
        spreads = np.concatenate([np.full(len(one.places), one.current_spreads.get(named, 0.0)) for one in solved])
        nearest = np.nan_to_num(sizes - mean[0])
        least = nearest[np.argmin((nearest**2).sum(axis=1))]  # of the sizes the one nearest to a good valve
        along = spreads / WEAKER * least
        whole += np.outer(along, along)
    return whole
