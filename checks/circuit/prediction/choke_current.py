"""Supplies whose choke carries less than its critical current: worked out for ratings, refused as readings."""

from checks.circuit.netlist.network import Network
from checks.circuit.netlist.remark import Remark, RemarkCode, remark
from checks.circuit.netlist.unsupported import Unsupported, spread_unsupported
from checks.circuit.rectifiers.choke_input import ChokeFed
from checks.circuit.solver.operating_point import Operating


def find_dry_chokes(net: Network, operating: Operating) -> dict[int, Remark]:
    """Node -> why its DC is not given, for all that hangs on a choke that runs dry in the nominal build."""
    refusals, solution = {}, operating.solution
    m, drive = solution.reduced.m, solution.drive
    for r in (r for r in net.rectifiers if isinstance(r, ChokeFed)):
        amps = sum(float(solution.currents[0, n]) for n, o in enumerate(net.rectifiers) if o.reservoir == r.reservoir)
        critical = float(r.critical_amps(m, drive)[0])
        if amps < critical:
            refusals[r.reservoir] = Unsupported(
                r.ref,
                frozenset(r.reservoir) - {net.size},
                frozenset(),
                remark(
                    RemarkCode.BELOW_CRITICAL,
                    refs=r.ref,
                    choke=r.choke,
                    milliamps=1e3 * amps,
                    critical=1e3 * critical,
                    peak=float(r.peak(m, drive)[0]),
                ),
            )
    return spread_unsupported(refusals.values(), net.resistives, net.devices, net.size)
