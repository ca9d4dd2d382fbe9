"""What each probe pair should read in a nominal build, and what follows from the same solution."""

from dataclasses import dataclass, replace

import numpy as np

from checks.circuit.assemble.network import build_network
from checks.circuit.netlist.conditions import Condition
from checks.circuit.netlist.network import Network
from checks.circuit.netlist.remark import Remark, RemarkCode, remark
from checks.circuit.netlist.signal import TONE
from checks.circuit.prediction.choke_current import find_dry_chokes
from checks.circuit.prediction.feedback import refuse_positive_feedback
from checks.circuit.prediction.heaters import HeaterVolts, off_rating
from checks.circuit.prediction.misuse import misused_devices
from checks.circuit.prediction.probes import OHMS, Probe, as_probe, read
from checks.circuit.prediction.resistance import Settling, settling
from checks.circuit.signals.large_signal import Clipping
from checks.circuit.signals.reading import clipped
from checks.circuit.solver.conductances import conductances, floating
from checks.circuit.solver.newton import flows
from checks.circuit.solver.operating_point import Operating, solve_operating_point, solve_reservoirs
from checks.circuit.validation.dc_paths import electrode_errors
from checks.finite import refuse_unreal

LINE_STEP = 0.01
UNDEFINED_OHMS = 1e9  # Ω to chassis, from which a voltage is anybody's
IDLE = 0.97  # of the line, above which a lamp's drop is the magnetising current's more than the loads'


@dataclass(frozen=True)
class Predicted:
    """A nominal reading in SI; None with a `reason` when the model cannot say (or reads open).

    `mains_exponent` is d ln(value)/d ln(line); `source_ohms` the small-signal resistance between the probes; `settle`
    the capacitors an ohmmeter must charge first; `notes` what to bear in mind.
    """

    probe: Probe
    value: float | None
    unit: str
    reason: Remark | None = None
    mains_exponent: float = 0.0
    source_ohms: float | None = None
    settle: tuple[Settling, ...] = ()
    notes: tuple[Remark, ...] = ()

    def __post_init__(self):
        refuse_unreal(self, "value", "mains_exponent", "source_ohms")


def solve_nominal(parts, condition: Condition) -> tuple[Network, Operating | None]:
    """(network, nominal operating point or None with the power off). Raises ChecksError for circuits that cannot be
    solved."""
    net = build_network(parts, condition)
    if condition.power == "off":
        return net, None
    for error in electrode_errors(net):
        raise error
    net, operating = solve_reservoirs(net)
    refuse_positive_feedback(net, operating)
    return replace(net, undefined=_undefined(net, operating), below_critical=find_dry_chokes(net, operating)), operating


def _undefined(net: Network, operating: Operating) -> frozenset:
    """The nodes of floating pieces whose devices, as they stand, pass no current."""
    groups, heads = floating(net)
    if not heads:
        return frozenset()
    volts = np.linalg.solve(_jacobian(operating), np.eye(net.size)[:, heads])  # for an ampere into each head
    loose = {groups.find(head) for n, head in enumerate(heads) if abs(volts[head, n]) > UNDEFINED_OHMS}
    return frozenset(node for node in range(net.size) if groups.find(node) in loose)


def heaters_off_rating(parts, condition: Condition) -> list[HeaterVolts]:
    """The heaters that get more than a tenth too much or too little. Raises ChecksError as `predict`."""
    net, operating = solve_nominal(parts, condition)
    return [] if operating is None else off_rating(net, operating)


def devices_misused(parts, condition: Condition) -> list[Remark]:
    """The regulators that do not hold their output, and what conducts the wrong way round. Raises ChecksError as
    `predict`."""
    net, operating = solve_nominal(parts, condition)
    return [] if operating is None else misused_devices(net, operating)


def predict(parts, condition: Condition, probes) -> list[Predicted]:
    """Nominal readings of `probes` ((red, black, measure) or (red, black, measure, through), or Probe) in their order.

    `parts` are PartSpecs, all of the kit's; `condition` says what is fitted and how it is fed. Raises ChecksError:
    unknown nodes and pins, electrodes without a DC path, shorted supplies, unknown valve types, circuits that do not
    settle.
    """
    probes = [as_probe(p) for p in probes]
    net, operating = solve_nominal(parts, condition)
    m = net.parameters.nominal()
    exponents = _exponents(net, operating, probes)
    misused = misused_devices(net, operating) if operating else ()
    notes = (*net.notes, *_heater_notes(net, operating), *misused, *_idle_lamp(net, operating))
    return [_predicted(p, net, operating, m, e, notes) for p, e in zip(probes, exponents, strict=True)]


def _predicted(probe, net, operating, m, exponent, notes) -> Predicted:
    values, reason = read(probe, net, operating, m)
    if (
        values is not None
        and probe.under == TONE
        and operating
        and (clip := clipped(operating, probe.level, probe.hertz))
    ):
        values, reason = None, clipping_remark(probe, clip)
    if values is None:
        return Predicted(probe, None, probe.unit, reason, notes=notes)
    red, black = net.node(probe.red), net.node(probe.black)
    settle_ = settling(net, red, black) if probe.measure in OHMS else ()
    source = None if operating is None or probe.measure == "ac volts" else source_ohms(operating, red, black)
    return Predicted(probe, float(values[0]), probe.unit, None, exponent, source, settle_, notes)


def clipping_remark(probe: Probe, clip: Clipping) -> Remark:
    return remark(RemarkCode.SIGNAL_CLIPS, ref=clip.ref, level=probe.level, most=clip.input_volts)


def source_ohms(operating: Operating, red: int, black: int) -> float:
    """Small-signal ohms between two nodes at the operating point, which a meter's own resistance divides with."""
    net = operating.net
    if red == black:
        return 0.0
    inward = np.zeros(net.size + 1)
    inward[red], inward[black] = 1.0, -1.0
    volts = np.append(np.linalg.solve(_jacobian(operating), inward[:-1]), 0.0)
    return float(volts[red] - volts[black])


def _jacobian(operating: Operating):
    """Conductances between nodes (nodes, nodes) in S, with the devices' slopes as the first sample stands."""
    reduced, net = operating.solution.reduced, operating.net
    _, slopes = flows(reduced, operating.solution.ports, reduced.m, operating.solution.drive)
    ports, currents = [p for d in net.devices for p in d.ports], [c for d in net.devices for c in d.currents]
    full = np.zeros((net.size + 1, net.size + 1))
    full[:-1, :-1] = conductances(net, reduced.m)[0]
    for row, (leaves, enters) in enumerate(currents):
        for column, (plus, minus) in enumerate(ports):
            slope = slopes[0, row, column]
            if slope:
                for node, way in ((leaves, 1.0), (enters, -1.0)):
                    full[node, plus] += way * slope
                    full[node, minus] -= way * slope
    return full[:-1, :-1]


def _exponents(net: Network, operating, probes) -> list[float]:
    """Mains exponents from the line one percent up and down."""
    if operating is None:
        return [0.0] * len(probes)
    m = net.parameters.nominal()
    sides = []
    for factor in (1 + LINE_STEP, 1 - LINE_STEP):
        moved = replace(net, condition=net.condition.at_line(factor))
        point = (
            solve_reservoirs(moved)[1]
            if net.condition.lamp_watts
            else solve_operating_point(moved, m, start=operating.solution.ports)
        )
        sides.append([read(p, moved, point, m)[0] for p in probes])
    span = np.log((1 + LINE_STEP) / (1 - LINE_STEP))
    return [_exponent(high, low, span) for high, low in zip(*sides, strict=True)]


def _exponent(high, low, span) -> float:
    if high is None or low is None or float(high[0]) * float(low[0]) <= 1e-12:
        return 0.0
    return float(np.log(high[0] / low[0]) / span)


def _idle_lamp(net: Network, operating) -> tuple[Remark, ...]:
    """Of a stage through a lamp that drops next to nothing by the loads alone."""
    if operating is None or not net.condition.lamp_watts or operating.line < IDLE * net.condition.line_factor:
        return ()
    return (remark(RemarkCode.IDLE_LAMP),)


def _heater_notes(net: Network, operating) -> tuple[Remark, ...]:
    if operating is None:
        return ()
    return tuple(_heater_note(h) for h in off_rating(net, operating) if h.is_cool or h.volts > h.rated)


def _heater_note(heater: HeaterVolts) -> Remark:
    code = RemarkCode.HEATER_COOL if heater.is_cool else RemarkCode.HEATER_HOT
    return remark(code, ref=heater.ref, volts=round(heater.volts, 2), rated=heater.rated)
