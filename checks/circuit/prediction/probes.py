"""A probe pair and how its reading follows from a solved network."""

from dataclasses import dataclass

import numpy as np

from checks.circuit.netlist.network import Network
from checks.circuit.netlist.remark import Remark, RemarkCode, remark
from checks.circuit.prediction.resistance import resistances
from checks.circuit.signals.reading import signal_volts
from checks.circuit.solver.conductances import floating
from checks.circuit.solver.operating_point import Operating
from checks.errors import CallerError, ChecksError
from checks.measures import OHMS, UNITS

LEAST_AC = 0.05  # V: less than this comes from a signal, not from a winding


@dataclass(frozen=True)
class Probe:
    """Red and black (node, or valve pin such as "V2.7"), what is measured, for a current the resistor it is read
    across, and for a signal its level at the input (V rms), its frequency and whether it is
    a tone or ripple."""

    red: str
    black: str = "chassis"
    measure: str = "dc volts"
    through: str = ""
    level: float = 0.0
    hertz: float = 0.0
    under: str = ""

    def __post_init__(self):
        if self.measure not in UNITS:
            raise CallerError(
                f"“{self.measure}” is not measured here; it takes {', '.join(UNITS)}.", argument="measure"
            )

    @property
    def unit(self) -> str:
        return UNITS[self.measure]


def as_probe(row) -> Probe:
    return row if isinstance(row, Probe) else Probe(*row)


def is_on(net: Network, probe: Probe) -> bool:
    """Are both ends of a probe points of the circuit? A guide may name others, such as the earth pin of the plug."""
    try:
        for end in (probe.red, probe.black):
            net.node(end)
    except ChecksError:
        return False
    return True


def why_unpredicted(probe: Probe, net: Network) -> Remark | None:
    """Why a probe's reading cannot be computed under a network's condition; None when it can."""
    if probe.measure in ("temperature", "frequency"):
        return remark(RemarkCode.NOT_ELECTRICAL, measure=probe.measure)
    if any(end.startswith("=") for end in (probe.red, probe.black)):
        return remark(RemarkCode.PLACE_IN_WORDS)
    on = net.condition.power == "on"
    if (probe.measure in OHMS) == on:
        return remark(RemarkCode.POWER_IS_ON if on else RemarkCode.POWER_IS_OFF)
    return _not_calculated(probe, net) or _floats(probe, net) if on else None


def _not_calculated(probe: Probe, net: Network) -> Remark | None:
    """Does either end hang on something that the solver refuses?"""
    nodes = {net.node(end) for end in (probe.red, probe.black)}
    if probe.measure == "ac volts":
        if net.condition.signal is not None:
            hung = net.below_critical | net.not_calculated
            return next((hung[node] for node in sorted(nodes) if node in hung), None)
        return next((r.why for r in net.unsupported if r.alternating & nodes), None)
    why = net.below_critical | net.not_calculated
    return next((why[node] for node in sorted(nodes) if node in why), None)


def _floats(probe: Probe, net: Network) -> Remark | None:
    if probe.measure == "ac volts" and net.condition.signal is not None:
        return None  # a capacitor carries it
    groups, heads = floating(net)
    driven = {groups.find(n) for d in net.devices for c in d.currents for n in c} | {groups.find(net.size)}
    red, black = (net.node(end) for end in (probe.red, probe.black))
    if groups.together(red, black):
        return None
    if probe.measure == "ac volts":
        return remark(RemarkCode.NOT_JOINED, red=probe.red, black=probe.black)
    for end, node in ((probe.red, red), (probe.black, black)):
        if groups.find(node) not in driven:
            return remark(RemarkCode.NO_DC_PATH, point=end)
        if node in net.undefined:
            return remark(RemarkCode.NOTHING_HOLDS, point=end)
    return None


def read(probe: Probe, net: Network, operating: Operating | None, m) -> tuple[np.ndarray | None, Remark | None]:
    """(readings of shape (samples,) or None, why not). `operating` is None with the power off."""
    reason = why_unpredicted(probe, net)
    if reason:
        return None, reason
    red, black = net.node(probe.red), net.node(probe.black)
    if probe.measure in OHMS:
        ohms = resistances(net, red, black, m)
        return ohms, None if ohms is not None else remark(RemarkCode.OPEN)
    assert operating is not None  # the power is on
    if probe.measure == "ac volts" and net.condition.signal is not None:
        return signal_volts(operating, red, black, probe.level, probe.hertz, probe.under), None
    if probe.measure == "ac volts":
        volts = np.abs(operating.ac[:, red] - operating.ac[:, black])
        return (volts, None) if np.median(volts) >= LEAST_AC else (None, remark(RemarkCode.SIGNAL_ONLY))
    volts = operating.solution.between(red, black)
    return (volts if probe.measure == "dc volts" else volts / _through(probe, net, m)), None


def _through(probe: Probe, net: Network, m):
    """Ohms, per sample, of the resistor that a current is read across."""
    ends = {net.node(probe.red), net.node(probe.black)}
    rows = [r for r in net.resistives if (r.ref == probe.through if probe.through else {r.a, r.b} == ends)]
    if len(rows) != 1 or {rows[0].a, rows[0].b} != ends:
        raise ChecksError(
            f"A current is read across one resistor: {probe.through or 'none'} does not lie between {probe.red} and "
            f"{probe.black} alone.",
            argument="through",
            code="current-resistor",
            through=probe.through,
            red=probe.red,
            black=probe.black,
        )
    return rows[0].ohms * m[:, rows[0].parameter]
